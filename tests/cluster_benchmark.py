"""Prints what measuring on a Dask cluster costs, and keeps the table in cluster_benchmark.txt.

Run it with ``python tests/cluster_benchmark.py [CAPTURES [UNREADABLE]]`` where nothing else runs.
Workers are processes of this machine. CAPTURES (60) sample captures are measured by one, two and
four workers; UNREADABLE (2000) empty files, which are refused at once, show what each costs beside
its measuring. The numbers of every run are compared with the first.
"""

from __future__ import annotations

import pickle
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import dask
from distributed import LocalCluster
from speed_benchmark import Row, load_row, many_captures

from dotloupe.measurement import Measurement
from dotloupe.session.measuring import measure_file, measure_paths
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions

TABLE = Path(__file__).with_suffix(".txt")
WORKERS = (1, 2, 4)
ALONE: dict[str, Any] = {"threads_per_worker": 1, "dashboard_address": None, "memory_limit": 0}
FREED_LATE = {
    f"distributed.nanny.pre-spawn-environ.MALLOC_{kind}_THRESHOLD_": mebibytes << 20
    for kind, mebibytes in (("TRIM", 64), ("MMAP", 32))
}
"""Memory kept by a worker for the next array. Dask's own setting has every array of some size asked
of the system anew, and filled with zeros by it."""


def main() -> None:
    captures, unreadable = (int(n) for n in (*sys.argv[1:], "60", "2000")[:2])
    with tempfile.TemporaryDirectory() as scratch, TABLE.open("w", encoding="utf-8") as kept:
        for row in table(captures, unreadable, Path(scratch)):
            line = f"{row.what:<62} {row.reached:>12}".rstrip()
            print(line, flush=True)
            print(line, file=kept, flush=True)


def table(captures: int, unreadable: int, folder: Path) -> Iterator[Row]:
    yield load_row("load before, over processors")
    paths = many_captures(captures, folder / "many")
    with LocalCluster(n_workers=1, **ALONE) as local:
        timed(local, paths[:1] * 2)
        took_s, _ = timed(local, paths[: max(len(paths) // 3, 1)])
    yield Row(
        "a capture by one worker, memory as Dask sets it, s", f"{3 * took_s / len(paths):.2f}"
    )
    alike, first = True, None
    for workers in WORKERS:
        with cluster(workers, paths[:workers]) as local:
            took_s, measured = timed(local, paths)
        numbers = [m.to_dict() for m in measured]
        first = first or (took_s, numbers)
        alike &= numbers == first[1]
        name = f"{len(paths)} captures of 4.4 megapixels, workers {workers}, s"
        yield Row(name, f"{took_s:.1f}")
        if workers == 1:
            yield Row("  a capture", f"{took_s / len(paths):.2f}")
        yield Row("  throughput over that of one", f"{first[0] / took_s:.2f}")
    with cluster(2, paths[:2]) as local:
        took_s, measured = timed(local, paths, kill_after=len(paths) // 4)
    alike &= first is not None and [m.to_dict() for m in measured] == first[1]
    yield Row("  two, one killed after a quarter and started again, s", f"{took_s:.1f}")
    yield Row("  numbers of all runs alike to the last bit", "yes" if alike else "NO")
    yield from bytes_rows(paths[0], measured[0])
    empty = [folder / f"{n}.jpg" for n in range(unreadable)]
    for path in empty:
        path.touch()
    for workers in (2, 4):
        with cluster(workers, empty[:workers]) as local:
            took_s, _ = timed(local, empty)
        name = f"{unreadable} empty files, workers {workers}: each, ms"
        yield Row(name, f"{1000 * took_s / unreadable:.2f}")
    yield load_row("load after, over processors")


@contextmanager
def cluster(workers: int, paths: Sequence[Path]) -> Iterator[LocalCluster]:
    """Workers that have measured a file each: what they load once is not counted."""
    with dask.config.set(FREED_LATE), LocalCluster(n_workers=workers, **ALONE) as local:
        timed(local, [path for path in paths for _ in range(2)])
        yield local


def timed(
    local: LocalCluster, paths: Sequence[Path], *, kill_after: int | None = None
) -> tuple[float, list[Measurement]]:
    """Seconds by the clock to measure files, and the measurements."""
    options = RunOptions(find_camera=False, cluster=local.scheduler_address)
    start, measured = time.perf_counter(), []
    for n, m in enumerate(measure_paths(paths, options, use_cache=False)):
        measured.append(m)
        if n == kill_after:
            local.workers[0].process.process.kill()
    return time.perf_counter() - start, measured


def bytes_rows(path: Path, measured: Measurement) -> Iterator[Row]:
    task = partial(measure_file, options=DEFAULT_OPTIONS.for_workers())
    for name, content in (("to its worker", (task, path)), ("back", measured)):
        size = len(pickle.dumps(content))
        yield Row(f"bytes sent per capture, {name}, kB", f"{size / 1000:.1f}")


if __name__ == "__main__":
    main()
