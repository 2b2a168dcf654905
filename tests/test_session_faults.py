"""A run in which single files do harm: each costs itself and no other."""

import os
import signal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dotloupe import session
from dotloupe.measurement import unread
from dotloupe.session import DIED, measure_path, measure_paths

PATHS = [Path(f"{n}.jpg") for n in range(6)]


def test_a_failure_that_nobody_foresaw_is_told_of_the_file(tmp_path, monkeypatch):
    def fails(*_, **__):
        raise np.linalg.LinAlgError("SVD did not\nconverge")

    path = tmp_path / "a.png"
    Image.fromarray(np.full((90, 90, 3), 200, np.uint8)).save(path)
    monkeypatch.setattr("dotloupe.measurement.measure_capture", fails)
    told = measure_path(path)
    assert (told.fit, told.sha256, told.path) == (False, "", str(path))
    assert told.reasons[0].startswith("measuring it failed (LinAlgError: SVD did not converge); ")


@pytest.mark.parametrize("deadly", [(3,), (0, 5), (1, 2, 3)])
def test_files_that_processes_die_of_cost_no_other(deadly, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)

    def measure(path):
        if int(path.stem) in deadly:
            os.kill(os.getpid(), signal.SIGKILL)
        return unread(str(path), "measured")

    results = list(session._in_parallel(measure, PATHS))
    assert [m.path for m in results] == [str(p) for p in PATHS]
    assert [n for n, m in enumerate(results) if m.reasons == (DIED,)] == list(deadly)


def test_bad_files_among_others_are_named_in_order(tmp_path):
    bad = [tmp_path / os.fsdecode(b"\xff.jpg"), tmp_path / "empty.tif", tmp_path / "gone.png"]
    bad[0].write_bytes(b"\xff\xd8\xff no photograph")
    bad[1].touch()
    results = list(measure_paths(bad))
    assert [m.path for m in results] == [str(p) for p in bad]
    assert ["damaged" in results[0].reasons[0], "empty" in results[1].reasons[0]] == [True, True]
    assert "no such file" in results[2].reasons[0]
