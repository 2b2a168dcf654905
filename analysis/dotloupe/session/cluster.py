"""Captures measured on a Dask cluster that is running already: the same work and numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from dotloupe.errors import InputError
from dotloupe.measurement import Measurement, unread
from dotloupe.storage import program

if TYPE_CHECKING:
    from distributed import Client, Future

PATIENCE_S = 30
"""For a scheduler to answer, and then for a worker to join it."""
DIED = "every worker that measured it died; give them more memory, or export the file again"

_one_at_a_time = Lock()


def on_cluster(
    address: str, measure: Callable[[Path], tuple[Measurement, ...]], paths: Sequence[Path]
) -> Iterator[tuple[Measurement, ...]]:
    """Measure files on a cluster, results in the order given.

    What a worker was measuring, or had measured, when it died is measured again by another.

    Parameters
    ----------
    address : str
        Of the scheduler, like `tcp://10.0.0.5:8786`. Its workers see the files under the same
        paths as this machine does.
    measure : callable
        From a path to the measurements of its patches.
    paths : sequence of Path

    Raises
    ------
    InputError
        The extra is not installed, no scheduler answers, no worker joins, or a worker runs
        another program than this one.
    """
    if not paths:
        return
    with _client(address) as client:
        futures = [
            client.submit(
                _measured, measure, path.absolute(), pure=False, key=f"capture {n} {path}"
            )
            for n, path in enumerate(paths)
        ]
        for n, path in enumerate(paths):
            yield _result(address, futures[n], path)
            futures[n].release()


def _measured(
    measure: Callable[[Path], tuple[Measurement, ...]], path: Path
) -> tuple[str, tuple[Measurement, ...]]:
    """Measure on a worker, one file at a time in a process, and say with which program."""
    with _one_at_a_time:
        return program(), measure(path)


def _result(address: str, future: Future[Any], path: Path) -> tuple[Measurement, ...]:
    from distributed import KilledWorker

    try:
        made_with, measurements = future.result()
    except KilledWorker:
        return (unread(str(path), DIED),)
    except ModuleNotFoundError as error:
        raise InputError(
            f"--cluster {address}: a worker lacks {error.name}; install the same dotloupe there"
        ) from error
    if made_with != program():
        raise InputError(
            f"--cluster {address}: a worker runs another dotloupe, or other numeric libraries; "
            "install the same as here"
        )
    return tuple(replace(m, path=str(path)) for m in measurements)


@contextmanager
def _client(address: str) -> Iterator[Client]:
    try:
        from distributed import Client
    except ImportError as error:
        raise InputError(
            f"--cluster {address}: Dask is not installed; pip install 'dotloupe[cluster]'"
        ) from error
    try:
        client = Client(address, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            f"--cluster {address}: no Dask scheduler answers there; start one, or check the address"
        ) from error
    with client:
        try:
            client.wait_for_workers(1, timeout=PATIENCE_S)
        except TimeoutError as error:
            raise InputError(
                f"--cluster {address}: its scheduler has no worker; start some"
            ) from error
        yield client
