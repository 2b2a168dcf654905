"""What a printer did over the months: one file of prints, captures, events and results."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.compare.cautions import CaptureWarning
from dotloupe.compare.history.rows import (
    COLUMNS,
    add_measurement,
    choose,
    events_of,
    find_or_add,
    latest,
    points_of,
    read_events,
    read_results,
    setting_rows,
)
from dotloupe.compare.history.schema import opened, writing
from dotloupe.compare.history.trend import EventKind, Trend, trend
from dotloupe.compare.prints import as_measurement
from dotloupe.errors import InputError
from dotloupe.storage import as_text, make_folder, plain, program_version, write_csv, write_text

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from sqlite3 import Row

    from dotloupe.cautions import Caution

EVENT_KINDS: tuple[EventKind, ...] = ("alignment", "move", "service")


class History:
    """The history of one or more printers in one file.

    The file is opened for each call and closed after it: several processes may add at once, and a
    crash loses nothing that an earlier call has finished.

    Parameters
    ----------
    path : path
        The file; `add` and `add_event` make it where there is none.
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)

    def add(
        self,
        captures: Any,
        *,
        printer: str,
        paper: str,
        mode: str,
        printed_on: date | str,
        words: Callable[[Caution], str] = str,
    ) -> tuple[str, ...]:
        """Add captures, or their measurements, of prints made on one day.

        Parameters
        ----------
        captures : Capture, Measurement or iterable of them
            What was photographed. A capture that this version has measured before is not measured
            again, and adding it changes nothing.
        printer, paper, mode : str
            What printed, on what, and how.
        printed_on : date or str
            Day of the printing, as ``2026-03-12``.
        words : callable
            What is written of a reason or warning; its name by default.

        Returns
        -------
        tuple of str
            Hashes of the captures that were new, or new to this version of the program.

        Raises
        ------
        InputError
            A capture is in the file already as a print of something else; the file is damaged.
            Nothing of this call is added then.
        """
        for noun, name in (("printer", printer), ("paper", paper), ("mode", mode)):
            _check_name(noun, name)
        day = _day(printed_on)
        items = [captures] if hasattr(captures, "sha256") else list(captures)
        with opened(self.path, create=True) as db:
            known = {
                row["capture"]
                for row in db.execute(
                    "SELECT capture FROM measurements WHERE version = ?", (program_version(),)
                )
            }
            measured = [m if m.sha256 in known else as_measurement(m) for m in items]
            with writing(db):
                setting = setting_rows(db, printer.strip(), mode.strip(), paper.strip())
                new = [m.sha256 for m in measured if add_measurement(db, m, *setting, day, words)]
        return tuple(new)

    def add_event(
        self, kind: EventKind, *, printer: str, happened_on: date | str, note: str = ""
    ) -> None:
        """Add what was done to a printer: an alignment, a move or a service.

        Parameters
        ----------
        kind : str
            "alignment", "move" or "service".
        printer : str
            Its name.
        happened_on : date or str
            The day, as ``2026-03-12``. Prints of that day count as made after it.
        note : str
            Anything to remember.
        """
        if kind not in EVENT_KINDS:
            raise InputError(f"event {kind}: use {', '.join(EVENT_KINDS)}")
        _check_name("printer", printer)
        _check_text("note", note)
        day = _day(happened_on)
        with opened(self.path, create=True) as db, writing(db):
            row = find_or_add(db, "printers", {"name": printer.strip()})
            event = {"printer": row, "kind": kind, "happened_on": day, "note": note}
            find_or_add(db, "events", event)

    def track(
        self,
        criterion: str = "grain",
        *,
        printer: str | None = None,
        mode: str | None = None,
        paper: str | None = None,
        baseline: tuple[date | str, date | str] | None = None,
    ) -> Trend:
        """Follow one number over time.

        Parameters
        ----------
        criterion : str
            Name of the number.
        printer, mode, paper : str, optional
            Which prints; may be left out where the file holds one only.
        baseline : pair of dates, optional
            First and last day of the prints that set the control limits. If not given, the prints
            before the first event.

        Returns
        -------
        Trend

        Raises
        ------
        InputError
            No such print or number, or several printers, modes or papers to choose from.
        """
        days = None if baseline is None else (_date(baseline[0]), _date(baseline[1]))
        with opened(self.path) as db:
            rows = latest(read_results(db, self.path))
            events = read_events(db)
        chosen = {}
        for column, wanted in (("printer", printer), ("mode", mode), ("paper", paper)):
            chosen[column] = choose(column, wanted, rows, self.path)
            rows = [r for r in rows if r[column] == chosen[column]]
        rows = [r for r in rows if r["criterion"] == criterion and r["fit"]]
        if not rows:
            message = f"no value of {criterion} for mode {chosen['mode']}: check the name"
            raise InputError(f"{self.path}: {message}")
        found = trend(
            points_of(rows),
            events_of(events, chosen["printer"]),
            criterion=criterion,
            unit=rows[0]["unit"],
            baseline=days,
            **chosen,
        )
        return replace(found, cautions=(*found.cautions, *_capture_warnings(rows)))

    def export(self, folder: str | Path) -> tuple[Path, ...]:
        """Write everything as ``results.csv``, ``events.csv`` and ``history.json``.

        Returns
        -------
        tuple of Path
            The files written.
        """
        target = Path(folder)
        with opened(self.path) as db:
            rows = read_results(db, self.path)
            events = read_events(db)
        make_folder(target)
        results = [{c: r[c] for c in COLUMNS} for r in rows]
        told = [dict(e) for e in events]
        paths = tuple(target / name for name in ("results.csv", "events.csv", "history.json"))
        write_csv(paths[0], COLUMNS, results)
        write_csv(paths[1], ("printer", "kind", "happened_on", "note"), told)
        for row in results:
            row.update({c: json.loads(row[c]) for c in ("reasons", "warnings", "parameters")})
        content = {"version": program_version(), "results": plain(results), "events": told}
        write_text(paths[2], json.dumps(content, indent=1, allow_nan=False) + "\n")
        return paths


def _check_name(noun: str, name: str) -> None:
    if not name.strip():
        raise InputError(f"{noun} has no name: give one")
    _check_text(noun, name)


def _check_text(noun: str, text: str) -> None:
    if as_text(text) != text:
        raise InputError(f"{noun} {as_text(text)}: bytes that are no text: write it anew")


def _day(value: date | str) -> str:
    return _date(value).isoformat()


def _capture_warnings(rows: Sequence[Row]) -> list[CaptureWarning]:
    """Warnings of the photographs, each with how many carry it."""
    every = [warning for row in rows for warning in json.loads(row["warnings"])]
    return [
        CaptureWarning(warning, every.count(warning), len(rows)) for warning in dict.fromkeys(every)
    ]


def _date(value: date | str) -> date:
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(value)
    except ValueError as error:
        raise InputError(f"date {value!r}: write it as 2026-03-12") from error
