"""Drawings from the cache, and those that it lacks drawn in processes of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from dotloupe.processes import begin_at_once
from dotloupe.storage import cache

WORTH_A_PROCESS = 4
"""Drawings for each process at least: one takes a tenth of a second, and its start ten times."""


def begin_drawings(drawings: Sequence[tuple[str, Callable[[], bytes]]]) -> Iterator[bytes]:
    """Return drawings in order; several that the cache lacks begin to be drawn at once.

    Parameters
    ----------
    drawings : sequence of (str, callable)
        The name under which each is kept, and what draws it.
    """
    found = [cache.load(name) for name, _ in drawings]
    missing = [draw for (_, draw), here in zip(drawings, found, strict=True) if here is None]
    drawn = begin_at_once(missing, worth_a_process=WORTH_A_PROCESS)

    def in_order() -> Iterator[bytes]:
        for (name, _), here in zip(drawings, found, strict=True):
            if here is None:
                here = next(drawn)
                cache.store(name, here)
            yield here

    return in_order()
