"""The end of a run from outside: what reaches the command alone, which then ends its workers."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import NoReturn

TERMINATED = 143
"""Status of a process that was asked to end: 128 and the signal's number, as shells have it."""


def end_when_terminated() -> None:
    """Have a request to end (SIGTERM) unwind the command as Ctrl-C does; its main thread calls."""
    signal.signal(signal.SIGTERM, _unwind)


def _unwind(number: int, _: FrameType | None) -> NoReturn:
    # asked a second time, it is about to end already
    signal.signal(number, signal.SIG_IGN)
    raise SystemExit(TERMINATED)


@contextmanager
def workers_undisturbed() -> Iterator[None]:
    """Start worker processes within the block: none says with a traceback that Ctrl-C came.

    A terminal sends it to every process of the command. Here it waits until the block is left; the
    processes inherit that it waits, until `begin_as_worker` has them leave it alone.
    """
    if sys.platform == "win32":
        # where a process inherits no such thing
        yield
        return
    from multiprocessing import resource_tracker

    # Python's own tracker lets Ctrl-C through again where it is started within the block
    resource_tracker.ensure_running()
    waiting = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, waiting)


def begin_as_worker() -> None:
    """Leave Ctrl-C to the process that began this one, and what it says where this one dies.

    For a worker as it starts.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    # empty, so that a worker dies without a traceback; set before, it stays as it is
    os.environ.setdefault("PYTHONFAULTHANDLER", "")
