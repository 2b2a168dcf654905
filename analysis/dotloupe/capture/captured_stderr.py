"""What decoding libraries write to standard error, captured."""

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
def captured_stderr() -> Iterator[list[str]]:
    """Capture the lines written to standard error in the block, Python's and any library's.

    Standard error belongs to the whole process, so that threads wait for each other here. Where
    it is closed, nothing is captured.

    Yields
    ------
    list of str
        Empty within the block, the lines after it.
    """
    lines: list[str] = []
    original = None
    with _one_at_a_time, TemporaryFile() as written:
        with suppress(OSError, ValueError):
            sys.stderr.flush()
            original = os.dup(2)
            os.dup2(written.fileno(), 2)
        try:
            yield lines
        finally:
            if original is not None:
                os.dup2(original, 2)
                os.close(original)
            written.seek(0)
            lines += written.read().decode("utf-8", "replace").splitlines()
