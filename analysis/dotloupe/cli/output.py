"""What every command says, and with which status it ends."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from dotloupe.errors import InputError
from dotloupe.report.text import shown
from dotloupe.storage import write_text

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement

INPUT_AT_FAULT, NONE_FIT = 2, 3


@contextmanager
def progress(total: int, quiet: bool) -> Iterator[Any]:
    """Progress with the time left, on standard error, where a person looks on."""
    if quiet:
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    console = Console(stderr=True)
    names = TextColumn("{task.description}", markup=False)
    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), names)
    unwatched = not console.is_terminal
    with Progress(*columns, console=console, transient=True, disable=unwatched) as bar:
        task = bar.add_task("measuring", total=total)
        yield lambda name: bar.update(task, advance=1, description=shown(name))


def say_fault(message: str) -> None:
    """One line on standard error, whatever the names in it hold."""
    typer.echo(f"dotloupe: {shown(' '.join(message.split()))}", err=True)


def prepare_streams() -> None:
    """Write out bytes that are no text, and let what a closed stream would take go nowhere."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def system_fault(error: OSError | MemoryError) -> str:
    """Say what the system refused, where nothing nearer has said it."""
    if isinstance(error, MemoryError):
        return "memory is short; close what else takes it, or give fewer captures at once"
    place = error.filename if isinstance(error.filename, str) else "standard output"
    return f"{place}: {error.strerror or error}; check its place, its permissions and free space"


def check_places(json_file: str | None, report: Path | None = None) -> None:
    """Refuse places that no result can be written to, before anything is measured.

    Raises
    ------
    InputError
        Names the place.
    """
    if json_file not in (None, "-"):
        target = Path(str(json_file))
        if target.is_dir():
            raise InputError(f"{target}: a folder; name a file for --json")
        _check_folder(target.parent, target)
    if report is not None:
        if report.exists() and not report.is_dir():
            raise InputError(f"{report}: a file; name a folder for --out")
        place = next(p for p in (report, *report.absolute().parents) if p.exists())
        _check_folder(place, report)


def _check_folder(folder: Path, target: Path) -> None:
    if not folder.is_dir():
        raise InputError(f"{target}: there is no folder {folder}; make it first")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise InputError(f"{target}: nothing may be written in {folder}; choose another place")


def write_json(target: str | None, content: Any) -> None:
    """Write a result as JSON, or print it where the target is -."""
    if target is None:
        return
    import json

    text = json.dumps(content, indent=2, allow_nan=False, ensure_ascii=False)
    if target == "-":
        typer.echo(text)
        return
    write_text(Path(target), text + "\n")


def say_report(path: Path, json_file: str | None) -> None:
    """Say where the report is, on standard error where JSON goes to standard output."""
    typer.echo(f"Report: {path}", err=json_file == "-")


def name_faults(measurements: Sequence[Measurement]) -> None:
    """One line on standard error for every capture that gave no numbers."""
    for m in measurements:
        if not m.fit:
            say_fault(f"{m.path}: {'; '.join(m.reasons)}")


def end(measurements: Sequence[Measurement]) -> None:
    """End with the status that says whether every capture gave numbers, some, or none."""
    if all(m.fit for m in measurements):
        return
    readable = [m for m in measurements if m.sha256]
    none_fit = readable and not any(m.fit for m in readable)
    raise typer.Exit(NONE_FIT if none_fit else INPUT_AT_FAULT)
