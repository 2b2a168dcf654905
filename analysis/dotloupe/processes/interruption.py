"""The end of a run from outside: what reaches the command alone, which then ends its workers."""

from __future__ import annotations

import os
import signal
import threading
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
    """Start worker processes within the block: they inherit that Ctrl-C is none of their business.

    A terminal sends it to every process of the command, and each would say so with a traceback.
    """
    if threading.current_thread() is not threading.main_thread():
        # handlers are set by the main thread alone; `begin_as_worker` does what is left
        yield
        return
    earlier = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, earlier)


def begin_as_worker() -> None:
    """Leave Ctrl-C to the process that began this one, and what it says where this one dies.

    For a worker as it starts.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    # empty, so that a worker dies without a traceback; set before, it stays as it is
    os.environ.setdefault("PYTHONFAULTHANDLER", "")
