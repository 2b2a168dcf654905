"""The command as it is installed: its script, its help, and a standard output that misbehaves."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

SCRIPT = "import sys\nfrom dotloupe.cli import main\nsys.exit(main())\n"
BARE = ("HOME", "PATH", "LANG", "TERM", "PYTHONPATH")
"""All that a stranger's shell sets, and where the package is found."""


@pytest.fixture
def installed(tmp_path):
    """Call with arguments: run a script as installed, in a bare environment."""

    def run(*arguments, stdout=subprocess.PIPE):
        script = tmp_path / "dotloupe"
        script.write_text(SCRIPT)
        ended = subprocess.run(
            [sys.executable, script, *arguments],
            stdin=subprocess.DEVNULL,
            stdout=stdout,
            stderr=subprocess.PIPE,
            check=False,
            env={k: os.environ[k] for k in BARE if k in os.environ},
        )
        return ended.returncode, ended.stdout, ended.stderr

    return run


def test_what_is_installed_is_what_is_tested_here():
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))
    assert project["project"]["scripts"] == {"dotloupe": "dotloupe.cli:main"}


def test_help_is_printed(installed):
    status, printed, said = installed("--help")
    assert (status, said) == (0, b"")
    assert all(name in printed.decode() for name in ("sheet", "check", "rank", "ladder", "track"))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a full disk as Linux plays it")
def test_help_that_finds_no_room_is_one_line(installed):
    with Path("/dev/full").open("w") as full:
        status, _, said = installed("--help", stdout=full)
    assert status == 2
    assert said.startswith(b"dotloupe: standard output: ")
    assert said.count(b"\n") == 1


def test_help_that_nobody_reads_ends_quietly(installed):
    reader, writer = os.pipe()
    os.close(reader)
    status, _, said = installed("--help", stdout=writer)
    os.close(writer)
    assert (status, said) == (0, b"")


@pytest.mark.parametrize("argument", ["--help", "measure --help"])
def test_with_standard_output_closed_nothing_is_said(installed, argument, tmp_path):
    installed("--help")
    line = f'"{sys.executable}" "{tmp_path / "dotloupe"}" {argument} >&-'
    ended = subprocess.run(["sh", "-c", line], stderr=subprocess.PIPE, check=False)
    assert (ended.returncode, ended.stderr) == (0, b"")
