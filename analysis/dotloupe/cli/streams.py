"""Standard output and standard error of the command, and its exit statuses."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from io import TextIOWrapper

DONE, INPUT_AT_FAULT, NONE_FIT, INTERRUPTED = 0, 2, 3, 130


def say(text: str, *, error: bool = False) -> None:
    """Print a line at once.

    Parameters
    ----------
    text : str
    error : bool
        On standard error.
    """
    print(text, file=sys.stderr if error else sys.stdout, flush=True)


def say_fault(message: str) -> None:
    """One line on standard error, whatever the names in it hold."""
    from dotloupe.report.text import shown

    say(f"dotloupe: {shown(' '.join(message.split()))}", error=True)


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


def discard_output() -> None:
    """Let what is still to be written go nowhere: writing it would fail once more."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
