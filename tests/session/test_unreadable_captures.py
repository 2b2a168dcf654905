"""A run in which single files do harm: each costs itself and no other."""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dotloupe.cautions import Stated
from dotloupe.measurement import unread
from dotloupe.processes.worker_processes import DIED, in_processes
from dotloupe.session.measuring import measure_file, measure_paths

SAMPLE = Path(__file__).parents[2] / "sample_captures" / "quality" / "fast" / "print1.jpg"
PATHS = [Path(f"{n}.jpg") for n in range(6)]


def test_a_failure_that_nobody_foresaw_is_told_of_the_file(tmp_path, monkeypatch):
    def fails(*_, **__):
        raise np.linalg.LinAlgError("SVD did not\nconverge")

    path = tmp_path / "a.png"
    Image.fromarray(np.full((90, 90, 3), 200, np.uint8)).save(path)
    monkeypatch.setattr("dotloupe.evaluate.measure_patches", fails)
    told = measure_file(path)[0]
    assert (told.fit, told.sha256, told.path) == (False, "", str(path))
    assert str(told.reasons[0]).startswith(
        "measuring it failed (LinAlgError: SVD did not converge); "
    )


@pytest.mark.parametrize(("deadly", "cores"), [((3,), 2), ((0, 5), 2), ((1, 2, 3), 2), ((4, 5), 1)])
def test_files_that_processes_die_of_cost_no_other(deadly, cores, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: cores)

    def measure(path):
        if int(path.stem) in deadly:
            os.kill(os.getpid(), signal.SIGKILL)
        return unread(str(path), "measured")

    results = list(in_processes(measure, PATHS, lambda path: unread(str(path), DIED)))
    assert [m.path for m in results] == [str(p) for p in PATHS]
    assert [n for n, m in enumerate(results) if m.reasons == (Stated(DIED),)] == list(deadly)


def test_one_core_works_on_all_files_in_one_other_process(monkeypatch):
    # a new process a file would read in the libraries again for each, half as long as measuring
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    at_work = set(in_processes(lambda _: os.getpid(), PATHS, lambda _: 0))
    assert len(at_work) == 1
    assert at_work.isdisjoint({os.getpid(), 0})


@pytest.mark.parametrize(
    ("command", "line", "died_of", "count"),
    [
        ("measure", "dotloupe: {name}: {died}", "SIGSEGV", 1),
        ("measure", "dotloupe: {name}: {died}", "SIGKILL", 2),
        ("check", "{name}: not fit\n  {died}", "SIGSEGV", 1),
    ],
)
def test_captures_that_their_reader_dies_of_are_one_line_each(
    command, line, died_of, count, tmp_path
):
    """As a decoder ends that reads where it must not, and a process whose memory is wanted back."""
    (tmp_path / "sitecustomize.py").write_text(
        "import os, signal\n"
        "import dotloupe.capture.loading as loading\n"
        f"loading.load_capture = lambda *_, **__: os.kill(os.getpid(), signal.{died_of})\n"
    )
    names = [f"deadly{n}.jpg" for n in range(count)]
    for name in names:
        shutil.copy(SAMPLE, tmp_path / name)
    path = os.pathsep.join([str(tmp_path), *os.environ.get("PYTHONPATH", "").split(os.pathsep)])
    told = subprocess.run(
        [sys.executable, "-c", "from dotloupe.cli import main; main()", command, *names],
        cwd=tmp_path,
        # with nothing kept: a measurement of the same file from another test needs no reader
        env={**os.environ, "PYTHONPATH": path, "XDG_CACHE_HOME": str(tmp_path / "cache")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (told.returncode, told.stdout) == (2, "")
    # what the library of the workers tells of a killed one's semaphores is no line of the command
    of_workers = ("resource_tracker", "  warnings.warn(")
    said = [one for one in told.stderr.splitlines() if not any(w in one for w in of_workers)]
    assert said == [
        text for name in names for text in line.format(name=name, died=DIED).splitlines()
    ]


def test_bad_files_among_others_are_named_in_order(tmp_path):
    bad = [tmp_path / os.fsdecode(b"\xff.jpg"), tmp_path / "empty.tif", tmp_path / "gone.png"]
    bad[0].write_bytes(b"\xff\xd8\xff no photograph")
    bad[1].touch()
    results = list(measure_paths(bad))
    assert [m.path for m in results] == [str(p) for p in bad]
    for m, said in zip(results, ("damaged", "empty", "no such file"), strict=True):
        assert said in str(m.reasons[0])
