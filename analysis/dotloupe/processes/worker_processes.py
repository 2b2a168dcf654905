"""Files worked on in processes of their own: one that its process dies of costs no other."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar

from dotloupe.processes.interruption import begin_as_worker, workers_undisturbed
from dotloupe.processes.tasks import begin_in_processes

DIED = (
    "the process that read it died; close what else takes memory, and if it dies again "
    "export the file again"
)
Result = TypeVar("Result")


def in_processes(
    work: Callable[[Path], Result],
    paths: Sequence[Path],
    died: Callable[[Path], Result],
    *,
    meanwhile: Callable[[], object] | None = None,
) -> Iterator[Result]:
    """Work on files in processes, as many at once as there are cores; results in order.

    Parameters
    ----------
    work : callable
        From a path to its result. One file alone is worked on in another process too.
    paths : sequence of Path
    died : callable
        What stands for a file that its process died of, be it a fault of a decoder or memory that
        the system wanted back.
    meanwhile : callable, optional
        What to do here while they work: read in what their results are made of.
    """
    from concurrent.futures.process import BrokenProcessPool

    done = 0
    while done < len(paths):
        left = paths[done:]
        workers = min(len(left), os.cpu_count() or 1)
        if workers == 1:
            yield from _one_by_one(work, left, died, meanwhile)
            return
        try:
            results = begin_in_processes([partial(work, path) for path in left], workers)
            if meanwhile is not None:
                meanwhile()
            for result in results:
                yield result
                done += 1
        except BrokenProcessPool:
            # which of those at work the process died of shows when it is alone
            yield from _one_by_one(work, paths[done : done + 1], died, meanwhile)
            done += 1


def _one_by_one(
    work: Callable[[Path], Result],
    paths: Sequence[Path],
    died: Callable[[Path], Result],
    meanwhile: Callable[[], object] | None,
) -> Iterator[Result]:
    """Work on files one after the other in one process, and in a new one after one that dies."""
    from concurrent.futures.process import BrokenProcessPool

    from loky import ProcessPoolExecutor

    done = 0
    while done < len(paths):
        executor = ProcessPoolExecutor(1, initializer=begin_as_worker)
        try:
            for path in paths[done:]:
                with workers_undisturbed():
                    running = executor.submit(work, path)
                if meanwhile is not None:
                    meanwhile()
                yield running.result()
                done += 1
        except BrokenProcessPool:
            yield died(paths[done])
            done += 1
        finally:
            # its work is done, or no longer wanted
            executor.shutdown(kill_workers=True)
