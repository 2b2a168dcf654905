"""What `check --json` writes: a verdict and findings for each photograph."""

import json
import subprocess
import sys

import numpy as np
from PIL import Image


def test_each_photograph_has_a_verdict_and_what_was_found(tmp_path):
    Image.fromarray(np.full((400, 600, 3), 200, np.uint8)).save(tmp_path / "blank.png")
    (tmp_path / "broken.png").write_bytes(b"no picture")
    names = ("blank.png", "broken.png")
    command = [sys.executable, "-m", "dotloupe", "check", *names, "--json", "-"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    blank, broken = json.loads(done.stdout)
    assert [blank["path"], broken["path"]] == list(names)
    assert (blank["verdict"], blank["run"]) == ("not fit", None)
    (marks,) = (f for f in blank["findings"] if f["name"] == "marks missing")
    assert marks["severity"] == "not fit"
    assert marks["message"]
    (unreadable,) = broken["findings"]
    assert (unreadable["name"], unreadable["severity"]) == ("unreadable", "not fit")
    assert done.returncode == 3

    # quiet: one line a photograph, with all of its reasons
    command = [*command[:-2], "--quiet"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    said = {"blank.png": (done.stdout, blank), "broken.png": (done.stderr, broken)}
    for name, (stream, found) in said.items():
        (line,) = stream.splitlines()
        assert line.startswith(f"{name}: not fit; ")
        assert all(finding["message"] in line for finding in found["findings"])
