"""What the commands that measure print and write, and with which status they end."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.cli.streams import DONE, INPUT_AT_FAULT, NONE_FIT, say, say_fault
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement


@contextmanager
def progress(total: int, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Progress with the time left, on standard error, where a person looks on.

    Parameters
    ----------
    total : int
        Number of files.
    quiet : bool
        Show nothing.

    Yields
    ------
    callable
        To be called with the name of each file that is done.
    """
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

    from dotloupe.report.text import shown

    console = Console(stderr=True)
    names = TextColumn("{task.description}", markup=False)
    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), names)
    unwatched = not console.is_terminal
    with Progress(*columns, console=console, transient=True, disable=unwatched) as bar:
        task = bar.add_task("measuring", total=total)
        yield lambda name: bar.update(task, advance=1, description=shown(name))


def check_places(json_file: str | None, report: Path | None = None) -> None:
    """Refuse places that no result can be written to, before anything is measured.

    Parameters
    ----------
    json_file : str or None
    report : Path, optional

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
        say(text)
        return
    from dotloupe.storage import write_text

    write_text(Path(target), text + "\n")


def say_report(path: Path, json_file: str | None) -> None:
    """Say where the report is, on standard error where JSON goes to standard output."""
    say(f"Report: {path}", error=json_file == "-")


def name_faults(measurements: Sequence[Measurement]) -> None:
    """One line on standard error for every capture that gave no numbers."""
    from dotloupe.report.text import caution_text

    for m in measurements:
        if not m.fit:
            say_fault(f"{m.path}: {'; '.join(map(caution_text, m.reasons))}")


def exit_status(measurements: Sequence[Measurement]) -> int:
    """Exit status that says whether every capture gave numbers, some, or none."""
    if all(m.fit for m in measurements):
        return DONE
    readable = [m for m in measurements if m.sha256]
    none_fit = readable and not any(m.fit for m in readable)
    return NONE_FIT if none_fit else INPUT_AT_FAULT
