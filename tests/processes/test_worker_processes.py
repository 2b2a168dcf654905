"""Files worked on in other processes: from the folder in which the caller stands now."""

import contextlib
from pathlib import Path

from dotloupe.processes.worker_processes import in_processes

NAMES = [Path("a.txt"), Path("b.txt")]


def test_processes_that_serve_again_read_from_the_folder_of_now(tmp_path):
    for folder in ("monday", "tuesday"):
        (tmp_path / folder).mkdir()
        for name in NAMES:
            (tmp_path / folder / name).write_text(f"{name} of {folder}")
        with contextlib.chdir(tmp_path / folder):
            read = list(in_processes(Path.read_text, NAMES, str))
        assert read == [f"{name} of {folder}" for name in NAMES]
