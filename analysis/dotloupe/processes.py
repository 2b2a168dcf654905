"""Files worked on in processes of their own: one that its process dies of costs no other."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from dotloupe.interruption import begin_as_worker, workers_undisturbed

DIED = (
    "the process that read it died; close what else takes memory, and if it dies again "
    "export the file anew"
)
Result = TypeVar("Result")


def in_processes(
    work: Callable[[Path], Result], paths: Sequence[Path], died: Callable[[Path], Result]
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
    """
    from concurrent.futures.process import BrokenProcessPool

    from joblib import Parallel, delayed

    done = 0
    while done < len(paths):
        left = paths[done:]
        workers = min(len(left), os.cpu_count() or 1)
        if workers == 1:
            yield _alone(work, left[0], died)
            done += 1
            continue
        run = Parallel(n_jobs=workers, return_as="generator", initializer=begin_as_worker)
        try:
            with workers_undisturbed():
                results = run(delayed(work)(path) for path in left)
            for result in results:
                yield result
                done += 1
        except BrokenProcessPool:
            yield _alone(work, paths[done], died)
            done += 1


def _alone(work: Callable[[Path], Result], path: Path, died: Callable[[Path], Result]) -> Result:
    """Work on one file in a process of its own, to see whether it is what processes die of."""
    from concurrent.futures.process import BrokenProcessPool

    from joblib.externals.loky import ProcessPoolExecutor

    executor = ProcessPoolExecutor(1, initializer=begin_as_worker)
    try:
        with workers_undisturbed():
            running = executor.submit(work, path)
        _read_in_what_results_are_made_of()
        return running.result()
    except BrokenProcessPool:
        return died(path)
    finally:
        # its one piece of work is done, or no longer wanted
        executor.shutdown(kill_workers=True)


def _read_in_what_results_are_made_of() -> None:
    """Spend the wait for a worker on imports that its result needs here."""
    import dotloupe.elements
    import dotloupe.fitness.examine  # noqa: F401
