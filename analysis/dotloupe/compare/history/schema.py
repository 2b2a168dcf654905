"""The file of a history: its tables, its checks on opening, its migrations."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

APPLICATION_ID = 0x646F_746C
"""Marks an SQLite file as a history of dotloupe."""

WAIT_S = 60.0
"""How long to wait for another process that is writing."""

_FIRST_TABLES = (
    """CREATE TABLE printers (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE CHECK (name <> '')
    ) STRICT""",
    """CREATE TABLE papers (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE CHECK (name <> '')
    ) STRICT""",
    """CREATE TABLE modes (
        id INTEGER PRIMARY KEY,
        printer INTEGER NOT NULL REFERENCES printers (id),
        name TEXT NOT NULL CHECK (name <> ''),
        UNIQUE (printer, name)
    ) STRICT""",
    """CREATE TABLE events (
        id INTEGER PRIMARY KEY,
        printer INTEGER NOT NULL REFERENCES printers (id),
        kind TEXT NOT NULL CHECK (kind IN ('alignment', 'move', 'service')),
        happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
        note TEXT NOT NULL,
        UNIQUE (printer, kind, happened_on, note)
    ) STRICT""",
    """CREATE TABLE prints (
        id INTEGER PRIMARY KEY,
        mode INTEGER NOT NULL REFERENCES modes (id),
        paper INTEGER NOT NULL REFERENCES papers (id),
        printed_on TEXT NOT NULL CHECK (date(printed_on) IS printed_on),
        name TEXT NOT NULL,
        run INTEGER,
        sent_ppi REAL,
        UNIQUE (mode, paper, printed_on, name)
    ) STRICT""",
    """CREATE TABLE captures (
        sha256 TEXT PRIMARY KEY CHECK (sha256 <> ''),
        print INTEGER NOT NULL REFERENCES prints (id),
        path TEXT NOT NULL
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE measurements (
        id INTEGER PRIMARY KEY,
        capture TEXT NOT NULL REFERENCES captures (sha256),
        version TEXT NOT NULL,
        parameters TEXT NOT NULL,
        fit INTEGER NOT NULL CHECK (fit IN (0, 1)),
        reasons TEXT NOT NULL,
        warnings TEXT NOT NULL,
        digest TEXT NOT NULL,
        UNIQUE (capture, version, parameters)
    ) STRICT""",
    """CREATE TABLE results (
        measurement INTEGER NOT NULL REFERENCES measurements (id),
        name TEXT NOT NULL,
        value REAL NOT NULL,
        low REAL,
        high REAL,
        unit TEXT NOT NULL,
        PRIMARY KEY (measurement, name)
    ) STRICT, WITHOUT ROWID""",
)

_STANDARD_ERRORS = (
    "ALTER TABLE results ADD COLUMN standard_error REAL",
    "ALTER TABLE results ADD COLUMN degrees REAL",
)
"""What an interval rests on. NULL degrees: the error is normal. NULL error, as of all rows of
the first form: not known but by the interval, which is then taken for a normal one."""

_MORE_EVENTS = (
    """CREATE TABLE events_of_all_kinds (
        id INTEGER PRIMARY KEY,
        printer INTEGER NOT NULL REFERENCES printers (id),
        kind TEXT NOT NULL CHECK (
            kind IN ('alignment', 'cleaning', 'service', 'move', 'inks', 'paper')
        ),
        happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
        note TEXT NOT NULL,
        UNIQUE (printer, kind, happened_on, note)
    ) STRICT""",
    "INSERT INTO events_of_all_kinds SELECT id, printer, kind, happened_on, note FROM events",
    "DROP TABLE events",
    "ALTER TABLE events_of_all_kinds RENAME TO events",
)
"""A check of a column cannot be changed where it stands."""

_SIMULATED = (
    """ALTER TABLE measurements ADD COLUMN
        simulated INTEGER NOT NULL DEFAULT 0 CHECK (simulated IN (0, 1))""",
    "UPDATE measurements SET simulated = 1 WHERE warnings LIKE '%no printer printed it%'",
)
"""Earlier forms held it only as the sentence of a warning."""

MIGRATIONS: Sequence[Sequence[str]] = (
    _FIRST_TABLES,
    _STANDARD_ERRORS,
    _MORE_EVENTS,
    _SIMULATED,
)
"""Statements that lead from each version of the file to the next; the first makes the tables."""


@contextmanager
def opened(path: Path, *, create: bool = False) -> Iterator[sqlite3.Connection]:
    """Open a history, checked and in its newest form.

    A write is in the file, whole, when its transaction has ended, and not at all before: the
    rollback journal is synchronised at every step, and a journal left by a crash is undone here.

    Raises
    ------
    InputError
        Not there, damaged, of another program or of a newer version; the file is left as it is.
    """
    if not create and not path.exists():
        raise InputError(f"{path}: no such history: check the path, or add a capture to begin one")
    mode = "rwc" if create else "rw"
    try:
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}",
            uri=True,
            timeout=WAIT_S,
            isolation_level=None,
        )
        with closing(connection):
            connection.row_factory = sqlite3.Row
            connection.execute("PRAGMA trusted_schema = OFF")
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = EXTRA")
            _check(connection, path)
            _migrate(connection, path)
            yield connection
    except sqlite3.OperationalError as error:
        if str(error).startswith("Could not decode"):
            raise _damaged(path, "a text is none") from error
        raise InputError(
            f"{path}: {_one_line(error)}: close what else uses it, or check its folder"
        ) from error
    except sqlite3.DatabaseError as error:
        raise _damaged(path, str(error)) from error
    except UnicodeDecodeError as error:  # the complaint itself quotes what is damaged
        raise _damaged(path, "its tables cannot be read") from error


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction: all of it is written, or nothing; other writers wait."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _damaged(path: Path, what: str) -> InputError:
    return InputError(
        f"{path}: damaged ({_one_line(what)}), left untouched: put a backup in its place, "
        "or read out what can be saved with the .recover command of the sqlite3 shell"
    )


def _one_line(message: object) -> str:
    return " ".join(str(message).split())


def _check(connection: sqlite3.Connection, path: Path) -> None:
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if application != APPLICATION_ID and tables:
        raise InputError(f"{path}: an SQLite file of another program: give the path of a history")
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version > len(MIGRATIONS):
        raise InputError(f"{path}: written by a newer dotloupe (form {version}): update dotloupe")
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise _damaged(path, found)


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Bring an older file to the newest form, after a backup beside it."""
    if connection.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS):
        return
    with writing(connection):
        # another process may have done it while this one waited
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        if 0 < version < len(MIGRATIONS):
            _backup(path, version)
        for statements in MIGRATIONS[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")


def _backup(path: Path, version: int) -> Path:
    """Copy the file as it stands; a copy that was not finished keeps the name .part."""
    target = path.with_name(f"{path.name}.form{version}.backup")
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    source_uri = f"{path.absolute().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(source_uri, uri=True, timeout=WAIT_S)) as source,
        closing(sqlite3.connect(part)) as copy,
    ):
        source.backup(copy)
    part.replace(target)
    return target
