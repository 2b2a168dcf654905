"""What decoding libraries say on standard error: kept off it, and listened to."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from tempfile import TemporaryFile
from threading import RLock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_one_at_a_time = RLock()


@contextmanager
def overheard() -> Iterator[list[str]]:
    """Keep a library's own lines off standard error, and give them when the block has ended.

    Standard error belongs to the whole process, so that threads wait for each other here.
    """
    lines: list[str] = []
    kept = None
    with _one_at_a_time, TemporaryFile() as said:
        with suppress(OSError, ValueError):
            sys.stderr.flush()
            kept = os.dup(2)
            os.dup2(said.fileno(), 2)
        try:
            yield lines
        finally:
            if kept is not None:
                os.dup2(kept, 2)
                os.close(kept)
            said.seek(0)
            lines += said.read().decode("utf-8", "replace").splitlines()
