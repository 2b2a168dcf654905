"""Ctrl-C reaches the command alone, which then ends its worker processes itself."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


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
    # empty, so that a worker dies without a traceback; set before, it stays as it is
    os.environ.setdefault("PYTHONFAULTHANDLER", "")
