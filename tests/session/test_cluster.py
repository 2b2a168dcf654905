"""The same run on a Dask cluster: a scheduler and workers that are processes of their own."""

import json
import os
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from command_line import dotloupe

from dotloupe.errors import InputError
from dotloupe.session.measuring import measure_file, measure_paths
from dotloupe.session.options import RunOptions

pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

SAMPLE = Path(__file__).parents[2] / "sample_captures" / "quality" / "fine" / "print1.jpg"
PATIENCE_S = 120


@pytest.fixture
def started(tmp_path):
    """Start parts of a cluster; at the end of the test all are ended."""
    running = []

    def start(kind, *options):
        command = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *options]
        with (tmp_path / f"{kind}_{len(running)}.log").open("w") as log:
            running.append(subprocess.Popen(command, stderr=log, stdout=log, cwd=tmp_path))
        return running[-1]

    yield start
    for process in running:
        process.kill()
        process.wait()


@pytest.fixture
def scheduler(started, tmp_path):
    """Address of a scheduler without a worker."""
    place = tmp_path / "scheduler.json"
    started("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
            "--scheduler-file", str(place))  # fmt: skip
    until = time.monotonic() + PATIENCE_S
    while not place.exists() or not place.read_text().endswith("}"):
        assert time.monotonic() < until
        time.sleep(0.05)
    return json.loads(place.read_text())["address"]


def worker(started, address):
    return started("worker", address, "--nworkers", "1", "--nthreads", "1", "--no-nanny",
                   "--no-dashboard", "--memory-limit", "0")  # fmt: skip


def test_a_worker_killed_in_the_run_costs_no_result_and_doubles_none(
    started, scheduler, tmp_path, monkeypatch, same_bits
):
    """Four photographs of one print; of two workers one is killed when the first is measured.

    It was measuring then, and what it had measured is lost with it.
    """
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    workers = [worker(started, scheduler) for _ in range(2)]
    paths = [tmp_path / f"print1_shot{n}.jpg" for n in range(3, 7)]
    for path in paths:
        shutil.copy(SAMPLE, path)
    told = []

    def progress(name):
        told.append(name)
        if len(told) == 1:
            workers[0].kill()

    monkeypatch.chdir(tmp_path)
    options = RunOptions(progress=progress, cluster=scheduler)
    results = list(measure_paths([Path(p.name) for p in paths], options))
    assert workers[0].wait() < 0
    assert workers[1].poll() is None
    assert told == [path.name for path in paths]
    assert [m.path for m in results] == told
    assert {m.print_id for m in results} == {"print1"}
    here = measure_file(paths[0])[0]
    assert here.fit
    assert all(same_bits(replace(here, path=m.path), m) for m in results)


def test_a_scheduler_without_workers_is_named(scheduler, monkeypatch):
    monkeypatch.setattr("dotloupe.session.cluster.PATIENCE_S", 1)
    with pytest.raises(InputError, match="has no worker; start some"):
        next(measure_paths([SAMPLE], RunOptions(cluster=scheduler), use_cache=False))


def command(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "-c", "from dotloupe.cli import main; main()", *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        env=os.environ | environment,
    )


def test_an_address_where_nothing_answers_is_one_line(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("dotloupe.session.cluster.PATIENCE_S", 1)
    done = dotloupe("measure", SAMPLE, "--cluster", "tcp://127.0.0.1:9")
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert line.startswith("dotloupe: --cluster tcp://127.0.0.1:9: no Dask scheduler answers there")


def test_without_the_extra_one_line_says_what_to_install(tmp_path):
    (tmp_path / "distributed.py").write_text("raise ImportError('No module named distributed')")
    there = os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])
    done = command(
        "measure", SAMPLE, "--cluster", "tcp://127.0.0.1:9",
        PYTHONPATH=there, XDG_CACHE_HOME=str(tmp_path / "cache"),
    )  # fmt: skip
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert line.endswith("Dask is not installed; pip install 'dotloupe[cluster]'")
