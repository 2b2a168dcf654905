"""Work that takes a while, beside the server: how far it is, and what came of it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock, Thread
from typing import Literal

from dotloupe.errors import DotloupeError

State = Literal["idle", "running", "done", "failed"]
Advance = Callable[[str], None]
"""Called with the name of each photograph once it is measured."""


@dataclass(frozen=True)
class Progress:
    """How far a job is."""

    state: State = "idle"
    done: int = 0
    total: int = 0
    seconds_left: float | None = None
    message: str = ""
    verdict: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass
class Job:
    """Runs one piece of work at a time beside the server."""

    _lock: Lock = field(default_factory=Lock)
    _progress: Progress = field(default_factory=Progress)

    @property
    def progress(self) -> Progress:
        """How far it is."""
        with self._lock:
            return self._progress

    def start(self, total: int, work: Callable[[Advance], Progress]) -> bool:
        """Begin to work on so many photographs, unless work is under way already."""
        with self._lock:
            if self._progress.state == "running":
                return False
            self._progress = Progress("running", 0, total)
        Thread(target=self._run, args=(work,), daemon=True).start()
        return True

    def _run(self, work: Callable[[Advance], Progress]) -> None:
        started, total, done = time.monotonic(), self.progress.total, 0

        def advance(_: str) -> None:
            nonlocal done
            done += 1
            left = (time.monotonic() - started) / done * (total - done)
            self._tell(Progress("running", done, total, left))

        try:
            self._tell(work(advance))
        except DotloupeError as error:
            from dotloupe.report.text import error_text

            self._tell(Progress("failed", message=error_text(error)))
        except Exception as error:  # noqa: BLE001 - said in the page; the server goes on
            self._tell(Progress("failed", message=f"unexpected: {error!r}"))

    def _tell(self, progress: Progress) -> None:
        with self._lock:
            self._progress = progress
