"""Rows of a history: what goes into the file and what comes out of it."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.capture import Simulated
from dotloupe.compare.history.events import Event
from dotloupe.compare.history.series import Point, Series, known_measurands
from dotloupe.compare.prints import print_value
from dotloupe.errors import InputError
from dotloupe.measure import Uncertainty, normal_uncertainty
from dotloupe.measurement import Measurement
from dotloupe.storage import as_text, plain, program_version

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from dotloupe.capture import Capture
    from dotloupe.cautions import Caution

_RESULTS = """
    SELECT printers.name AS printer, papers.name AS paper, modes.name AS mode,
        prints.printed_on, prints.id AS print_row, prints.name AS print, prints.run,
        prints.sent_ppi, captures.sha256, captures.path, measurements.id AS measurement,
        measurements.version, measurements.parameters, measurements.fit, measurements.reasons,
        measurements.warnings, measurements.simulated, measurements.digest,
        results.name AS criterion, results.value, results.low, results.high, results.unit,
        results.standard_error, results.degrees
    FROM measurements
    JOIN captures ON captures.sha256 = measurements.capture
    JOIN prints ON prints.id = captures.print
    JOIN modes ON modes.id = prints.mode
    JOIN printers ON printers.id = modes.printer
    JOIN papers ON papers.id = prints.paper
    LEFT JOIN results ON results.measurement = measurements.id
    ORDER BY prints.printed_on, prints.id, captures.sha256, measurements.id, results.name
"""

_HEADER = ("sha256", "version", "parameters", "fit", "reasons", "warnings")
_FIRST_IN_HEADER = len(_HEADER)
"""So many of them the first form of the file had."""
_NUMBER = ("name", "value", "low", "high", "unit", "standard_error", "degrees")
_FIRST_IN_NUMBER = 5

COLUMNS = (
    "printer", "paper", "mode", "printed_on", "print", "run", "sent_ppi", "sha256", "path", "fit",
    "reasons", "warnings", "simulated", "version", "parameters", "criterion", "value", "low",
    "high", "unit",
)  # fmt: skip


def find_or_add(
    db: sqlite3.Connection, table: str, named: Mapping[str, Any], **further: Any
) -> int:
    """Id of the row that these columns name; made with `further` columns if there is none."""
    same = " AND ".join(f"{column} = ?" for column in named)
    # names of tables and columns are those of this module, values are bound
    found = db.execute(f"SELECT id FROM {table} WHERE {same}", tuple(named.values())).fetchone()  # noqa: S608
    if found:
        return int(found[0])
    row = {**named, **further}
    columns, marks = ", ".join(row), ", ".join("?" * len(row))
    made = db.execute(
        f"INSERT INTO {table} ({columns}) VALUES ({marks}) RETURNING id",  # noqa: S608
        tuple(row.values()),
    )
    return int(made.fetchone()[0])


def setting_rows(db: sqlite3.Connection, printer: str, mode: str, paper: str) -> tuple[int, int]:
    """Ids of a printer's mode and of a paper, made if there are none."""
    printer_row = find_or_add(db, "printers", {"name": printer})
    mode_row = find_or_add(db, "modes", {"printer": printer_row, "name": mode})
    return mode_row, find_or_add(db, "papers", {"name": paper})


def add_measurement(
    db: sqlite3.Connection,
    m: Any,
    mode_row: int,
    paper_row: int,
    day: str,
    words: Callable[[Caution], str],
) -> bool:
    """Add one capture's measurement; False where the file held it already.

    Raises
    ------
    InputError
        The capture has no hash, or is in the file as a print of something else.
    """
    if not m.sha256:
        reasons = ", ".join(map(str, getattr(m, "reasons", ()))) or "it has no hash"
        raise InputError(f"{m.path}: cannot be kept ({reasons}): photograph it again")
    known = _known_capture(db, m, mode_row, paper_row, day)
    if not isinstance(m, Measurement):
        return False
    if not known:
        _add_capture(db, m, mode_row, paper_row, day)
    numbers = [
        (name, float(n.value), _end(n.low), _end(n.high), n.unit, *_error(n.uncertainty))
        for name, n in sorted(m.numbers.items())
        if np.isfinite(n.value)
    ]
    header = (
        m.identity,
        program_version(),
        json.dumps(m.parameters.to_dict(), sort_keys=True),
        int(m.fit),
        json.dumps(plain(m.reasons, words)),
        json.dumps(plain([w for w in m.warnings if not isinstance(w, Simulated)], words)),
    )
    simulated = int(any(isinstance(w, Simulated) for w in m.warnings))
    made = db.execute(
        "INSERT INTO measurements (capture, version, parameters, fit, reasons, warnings, digest, "
        "simulated) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING RETURNING id",
        (*header, _digest(header, numbers), simulated),
    ).fetchone()
    if made is None:
        return False
    db.executemany(
        f"INSERT INTO results (measurement, {', '.join(_NUMBER)}) "  # noqa: S608
        f"VALUES ({', '.join('?' * (1 + len(_NUMBER)))})",
        [(made[0], *number) for number in numbers],
    )
    return True


def identity_of(shown: Measurement | Capture) -> str:
    """What tells a capture from all others: which file, and which patch of it."""
    return shown.identity if isinstance(shown, Measurement) else shown.sha256


def _known_capture(db: sqlite3.Connection, m: Any, mode_row: int, paper_row: int, day: str) -> bool:
    stored = db.execute(
        "SELECT prints.mode, prints.paper, prints.printed_on, prints.name, modes.name AS mode_name "
        "FROM captures JOIN prints ON prints.id = captures.print "
        "JOIN modes ON modes.id = prints.mode WHERE sha256 = ?",
        (identity_of(m),),
    ).fetchone()
    if stored and tuple(stored)[:3] != (mode_row, paper_row, day):
        message = (
            f"{m.path}: this photograph is in the history already as print {stored['name']} of "
            f"mode {stored['mode_name']} of {stored['printed_on']}: add it as that, or check the "
            "file"
        )
        raise InputError(message)
    return stored is not None


def _add_capture(
    db: sqlite3.Connection, m: Measurement, mode_row: int, paper_row: int, day: str
) -> None:
    named = {"mode": mode_row, "paper": paper_row, "printed_on": day, "name": m.print_id}
    run = None if m.run is None else int(m.run)
    sent_ppi = None if m.sent_ppi is None else float(m.sent_ppi)
    print_row = find_or_add(db, "prints", named, run=run, sent_ppi=sent_ppi)
    db.execute(
        "INSERT INTO captures (sha256, print, path) VALUES (?, ?, ?)",
        (m.identity, print_row, as_text(m.path)),
    )


def _end(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _error(uncertainty: Uncertainty | None) -> tuple[float | None, float | None]:
    if uncertainty is None:
        return None, None
    degrees = uncertainty.degrees
    return uncertainty.standard_error, float(degrees) if np.isfinite(degrees) else None


def _digest(header: Sequence[Any], numbers: Sequence[Sequence[Any]]) -> str:
    """Hash of what was measured, so that a changed number is noticed when it is read.

    A field that came after the first form of the file counts where it holds something, by its
    name. Rows that were added before it have the hash that they were added with.
    """
    content = json.dumps(
        [
            _counted(_HEADER, _FIRST_IN_HEADER, header),
            [_counted(_NUMBER, _FIRST_IN_NUMBER, n) for n in numbers],
        ]
    )
    return hashlib.sha256(content.encode()).hexdigest()


def _counted(names: Sequence[str], first: int, values: Sequence[Any]) -> list[Any]:
    """Values of the first form, then those of later fields that hold something, with names."""
    later = zip(names[first:], values[first:], strict=True)
    return [*values[:first], *([name, value] for name, value in later if value is not None)]


def read_events(db: sqlite3.Connection) -> list[sqlite3.Row]:
    """Every event with its printer, in order of time."""
    return db.execute(
        "SELECT printers.name AS printer, kind, happened_on, note FROM events "
        "JOIN printers ON printers.id = events.printer ORDER BY happened_on, events.id"
    ).fetchall()


def events_of(rows: Sequence[sqlite3.Row], printer: str) -> list[Event]:
    """Events of one printer."""
    return [
        Event(r["kind"], date.fromisoformat(r["happened_on"]), r["note"])
        for r in rows
        if r["printer"] == printer
    ]


def read_results(db: sqlite3.Connection, path: Path) -> list[sqlite3.Row]:
    """Every number of every measurement, by day of printing.

    Raises
    ------
    InputError
        A number is not the one that was added.
    """
    rows = db.execute(_RESULTS).fetchall()
    by_measurement: dict[int, list[sqlite3.Row]] = {}
    for row in rows:
        by_measurement.setdefault(row["measurement"], []).append(row)
    for group in by_measurement.values():
        first = group[0]
        header = [first[column] for column in _HEADER]
        numbers = [
            [r["criterion"], *(r[column] for column in _NUMBER[1:])]
            for r in group
            if r["criterion"] is not None
        ]
        if _digest(header, numbers) != first["digest"]:
            message = (
                f"{path}: damaged (numbers of {first['path']} are not those that were added), "
                "left untouched: put a backup in its place"
            )
            raise InputError(message)
    return rows


def latest(rows: Sequence[sqlite3.Row]) -> list[sqlite3.Row]:
    """Rows of the newest measurement of each capture."""
    newest = {r["sha256"]: r["measurement"] for r in sorted(rows, key=lambda r: r["measurement"])}
    return [r for r in rows if newest[r["sha256"]] == r["measurement"]]


def choose(column: str, wanted: str | None, rows: Sequence[sqlite3.Row], path: Path) -> str:
    """Return the name wanted, or the only one there is; else say which there are."""
    names = list(dict.fromkeys(r[column] for r in rows))
    if wanted is not None and wanted in names:
        return wanted
    if wanted is None and len(names) == 1:
        return str(names[0])
    if not names:
        raise InputError(f"{path}: the history holds no capture yet: add one")
    told = f"{column} {wanted}: not in {path}" if wanted else f"{path}: several {column}s"
    raise InputError(f"{told}: choose one of {', '.join(names)}")


def _standard_error(row: sqlite3.Row) -> float:
    """Standard error of a number; of the rows of older files, as if its interval were normal."""
    if row["standard_error"] is not None:
        return float(row["standard_error"])
    if None in (row["low"], row["high"]):
        return float("nan")
    normal = normal_uncertainty((row["low"], row["high"]))
    return float("nan") if normal is None else normal.standard_error


def _points_of(rows: Sequence[sqlite3.Row]) -> list[Point]:
    """One point a print, from the rows of one criterion."""
    by_print: dict[int, list[sqlite3.Row]] = {}
    for row in rows:
        by_print.setdefault(row["print_row"], []).append(row)
    points = []
    for group in by_print.values():
        value = print_value(group[0]["print"], [(r["value"], _standard_error(r)) for r in group])
        points.append(
            Point(
                printed_on=date.fromisoformat(group[0]["printed_on"]),
                print_id=value.print_id,
                run=group[0]["run"],
                value=value.value,
                standard_error=value.standard_error,
                photographs=value.photographs,
                captures=tuple(r["sha256"] for r in group),
                versions=tuple(sorted({r["version"] for r in group})),
            )
        )
    return points


def series_of(rows: Sequence[sqlite3.Row]) -> list[Series]:
    """Every number over time, from the rows of one printer, mode and paper."""
    by_name: dict[str, list[sqlite3.Row]] = {}
    for row in rows:
        if row["criterion"] is not None and row["fit"]:
            by_name.setdefault(row["criterion"], []).append(row)
    known = known_measurands()
    return [
        Series(name, group[0]["unit"], known.get(name), tuple(_points_of(group)))
        for name, group in by_name.items()
    ]
