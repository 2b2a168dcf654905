"""Fitness of the photographs in the folder, one after the other, as they come in."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field

from dotloupe.errors import DotloupeError
from dotloupe.session import Checked, check_file
from dotloupe.workbench.folder import Found

Seen = tuple[str, tuple[int, int]]
"""A photograph as it was when it was looked at: its key and its stamp."""


@dataclass
class Examiner:
    """Examines photographs in the background, each once as long as its file stays as it is."""

    _pool: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1))
    _found: dict[Seen, Future[Checked]] = field(default_factory=dict)

    def watch(self, photographs: Iterable[Found]) -> None:
        """Begin on those that are new, and forget those that are gone."""
        here = {(one.key, one.stamp): one for one in photographs}
        for gone in self._found.keys() - here.keys():
            self._found.pop(gone).cancel()
        for seen, one in here.items():
            if seen not in self._found:
                self._found[seen] = self._pool.submit(_examined, one)

    def result(self, one: Found) -> Checked | None:
        """Return what was found, or None as long as it is not known."""
        future = self._found.get((one.key, one.stamp))
        return future.result() if future is not None and future.done() else None

    def close(self) -> None:
        """Begin on no other."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _examined(one: Found) -> Checked:
    """Fitness of a photograph; where it shows several patches, that of the first unfit one."""
    try:
        shown = check_file(one.path)
        return next((c for c in shown if c.fitness is None or not c.fitness.fit), shown[0])
    except (DotloupeError, OSError, MemoryError) as error:
        return Checked(str(one.path), None, str(error) or "cannot be examined")
