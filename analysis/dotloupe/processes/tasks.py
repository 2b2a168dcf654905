"""Tasks begun at once in processes of their own, their results in order."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TypeVar, cast

from dotloupe.processes.interruption import begin_as_worker, workers_undisturbed

Result = TypeVar("Result")


def begin_at_once(
    tasks: Sequence[Callable[[], Result]], *, worth_a_process: int = 1
) -> Iterator[Result]:
    """Begin tasks in processes, as many at once as there are cores; results in order.

    Few are done here instead, and so is what is left where a process dies; each as its result is
    asked for.

    Parameters
    ----------
    tasks : sequence of callable
    worth_a_process : int
        Tasks for each process at least.
    """
    workers = min(os.cpu_count() or 1, len(tasks) // worth_a_process)
    if workers < 2:
        return (task() for task in tasks)
    return or_done_here(begin_in_processes(tasks, workers), tasks)


def or_done_here(
    results: Iterator[Result], tasks: Sequence[Callable[[], Result]]
) -> Iterator[Result]:
    """Yield results of processes as they come, and do here what is left where one died."""
    from concurrent.futures.process import BrokenProcessPool

    done = 0
    try:
        for result in results:
            done += 1
            yield result
    except BrokenProcessPool:
        for task in tasks[done:]:
            yield task()


def begin_in_processes(tasks: Sequence[Callable[[], Result]], workers: int) -> Iterator[Result]:
    """Begin tasks in processes, before a result is asked for; results in order.

    The processes are those that worked here before, where as many did.

    Parameters
    ----------
    tasks : sequence of callable
    workers : int
        At least 2.

    Raises
    ------
    BrokenProcessPool
        A process died; as results are taken.
    """
    results = _results(tasks, workers)
    # up to where the tasks are begun: a generator that never ran could not end them in its way
    next(results)
    return cast(Iterator[Result], results)


def _results(tasks: Sequence[Callable[[], Result]], workers: int) -> Iterator[Result | None]:
    """Begin tasks and yield nothing, then each result; end those at work where no more is taken."""
    from joblib import Parallel, delayed

    folder = Path.cwd()
    run = Parallel(n_jobs=workers, return_as="generator", initializer=begin_as_worker)
    with workers_undisturbed():
        results = run(delayed(partial(_in_folder, folder, task))() for task in tasks)
    try:
        yield None
        for result in results:  # noqa: UP028 (delegated to, it would be closed, not ended)
            yield result
    except GeneratorExit:
        # closed, it would end its tasks as well, and warn of that
        with suppress(KeyboardInterrupt):
            results.throw(KeyboardInterrupt)
        raise


def _in_folder(folder: Path, task: Callable[[], Result]) -> Result:
    """Do a task from a folder: a process that serves again still stands in an earlier one."""
    os.chdir(folder)
    return task()
