"""What a printer did over the months: one file of prints, captures, events and results."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.compare.cautions import CaptureWarning, SimulatedCaptures
from dotloupe.compare.history.control_chart import print_spread
from dotloupe.compare.history.events import EVENT_KINDS, Event, EventKind
from dotloupe.compare.history.judging import judge
from dotloupe.compare.history.rows import (
    COLUMNS,
    add_measurement,
    choose,
    events_of,
    find_or_add,
    identity_of,
    latest,
    read_events,
    read_results,
    series_of,
    setting_rows,
)
from dotloupe.compare.history.schema import opened, writing
from dotloupe.compare.history.series import Series, of_head
from dotloupe.compare.history.trend import Trend, trend_of
from dotloupe.compare.history.verdict import HeadVerdict, head_verdict
from dotloupe.compare.known_spread import KnownSpread
from dotloupe.compare.prints import as_measurement
from dotloupe.errors import InputError
from dotloupe.storage import as_text, make_folder, plain, program_version, write_csv, write_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from sqlite3 import Connection, Row

    from dotloupe.cautions import Caution


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
            measured = [m if identity_of(m) in known else as_measurement(m) for m in items]
            with writing(db):
                setting = setting_rows(db, printer.strip(), mode.strip(), paper.strip())
                new = [
                    identity_of(m) for m in measured if add_measurement(db, m, *setting, day, words)
                ]
        return tuple(new)

    def add_event(
        self, kind: EventKind, *, printer: str, happened_on: date | str, note: str = ""
    ) -> None:
        """Add what was done to a printer.

        Parameters
        ----------
        kind : str
            "alignment", "cleaning", "service", "move", "inks" or "paper".
        printer : str
            Its name, of which the history has prints already where it has any.
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
            _known_printer(db, printer.strip(), self.path)
            row = find_or_add(db, "printers", {"name": printer.strip()})
            event = {"printer": row, "kind": kind, "happened_on": day, "note": note}
            find_or_add(db, "events", event)

    def verdict(
        self,
        *,
        printer: str | None = None,
        mode: str | None = None,
        paper: str | None = None,
        baseline: tuple[date | str, date | str] | None = None,
    ) -> HeadVerdict:
        """Judge whether the head is due, by all numbers together.

        Parameters
        ----------
        printer, mode, paper : str, optional
            Which prints; may be left out where the file holds one only.
        baseline : pair of dates, optional
            First and last day of the prints that all others are compared with. If not given,
            baselines begin and end with events.

        Returns
        -------
        HeadVerdict

        Raises
        ------
        InputError
            No such print, or several printers, modes or papers to choose from; no number that
            shows anything of the head.
        """
        wanted = {"printer": printer, "mode": mode, "paper": paper}
        series, events, names, rows = self._chosen(wanted)
        if not of_head(series):
            raise InputError(
                f"{self.path}: no number of these prints tells of the head: add others"
            )
        found = head_verdict(series, events, names=names, baseline=_days(baseline))
        return replace(found, cautions=(*found.cautions, *_capture_warnings(rows)))

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
            First and last day of the prints to compare with. If not given, baselines begin and end
            with events.

        Returns
        -------
        Trend
            As `verdict` judges it among the others, where it is one of them.

        Raises
        ------
        InputError
            No such print or number, or several printers, modes or papers to choose from.
        """
        wanted = {"printer": printer, "mode": mode, "paper": paper}
        series, events, names, rows = self._chosen(wanted)
        one = next((s for s in series if s.name == criterion), None)
        if one is None:
            valid = ", ".join(sorted(s.name for s in series)) or "none yet"
            raise InputError(f"{self.path}: no value of {criterion}: choose one of {valid}")
        together = of_head(series)
        judged = together if one in together else [one]
        course = judge(judged, events, baseline=_days(baseline))[criterion]
        found = trend_of(one, course, events, names=names, numbers=len(judged))
        own = [r for r in rows if r["criterion"] == criterion]
        return replace(found, cautions=(*found.cautions, *_capture_warnings(own)))

    def known_spreads(
        self,
        *,
        printer: str | None = None,
        mode: str | None = None,
        paper: str | None = None,
    ) -> dict[str, KnownSpread]:
        """How prints of one day vary, by number; those that were not repeated are left out.

        Parameters
        ----------
        printer, mode, paper : str, optional
            Which prints; may be left out where the file holds one only.

        Returns
        -------
        dict of str to KnownSpread
            By name of the number.

        Raises
        ------
        InputError
            No such print, or several printers, modes or papers to choose from.
        """
        series, *_ = self._chosen({"printer": printer, "mode": mode, "paper": paper})
        found = {}
        for one in series:
            visits = [v for v in one.visits() if v.n > 1]
            spread = print_spread(visits, one.measured_variance)
            if spread is not None:
                found[one.name] = KnownSpread(spread.variance, spread.degrees, one.by_ratio)
        return found

    def _chosen(
        self, wanted: Mapping[str, str | None]
    ) -> tuple[list[Series], list[Event], tuple[str, str, str], list[Row]]:
        """Numbers and events of one printer, mode and paper, their names, and the rows read."""
        with opened(self.path) as db:
            rows = latest(read_results(db, self.path))
            events = read_events(db)
        names = []
        for column, name in wanted.items():
            names.append(choose(column, name, rows, self.path))
            rows = [r for r in rows if r[column] == names[-1]]
        printer, mode, paper = names
        fit = [r for r in rows if r["fit"]]
        return series_of(rows), events_of(events, printer), (printer, mode, paper), fit

    def export(self, folder: str | Path) -> tuple[Path, ...]:
        """Write everything as ``results.csv``, ``events.csv`` and ``history.json``.

        Parameters
        ----------
        folder : str or Path
            Made where it is missing.

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
        raise InputError(f"{noun} {as_text(text)}: bytes that are not text: write it again")


def _known_printer(db: Connection, name: str, path: Path) -> None:
    """Refuse a name that is none of the printers that the history holds, if it holds any."""
    known = [row["name"] for row in db.execute("SELECT name FROM printers ORDER BY id")]
    if known and name not in known:
        raise InputError(
            f"{path}: printer {name}: not in the history: choose one of {', '.join(known)}, or add "
            "prints of it first"
        )


def _days(baseline: tuple[date | str, date | str] | None) -> tuple[date, date] | None:
    return None if baseline is None else (_date(baseline[0]), _date(baseline[1]))


def _day(value: date | str) -> str:
    return _date(value).isoformat()


def _capture_warnings(rows: Sequence[Row]) -> list[Caution]:
    """Warnings of the photographs, each with how many carry it; that they are simulated first."""
    each = {row["sha256"]: json.loads(row["warnings"]) for row in rows}
    every = [warning for warnings in each.values() for warning in warnings]
    simulated = {row["sha256"] for row in rows if row["simulated"]}
    said = [
        CaptureWarning(warning, every.count(warning), len(each)) for warning in dict.fromkeys(every)
    ]
    return [SimulatedCaptures(len(simulated), len(each)), *said] if simulated else [*said]


def _date(value: date | str) -> date:
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(value)
    except ValueError as error:
        raise InputError(f"date {value!r}: write it as 2026-03-12") from error
