"""The installed command: its help at once, and in every respect what the command itself prints."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from dotloupe import entry

SCRIPT = "import sys\nfrom {module} import main\nsys.exit(main())\n"


@pytest.fixture
def installed(tmp_path):
    """Call with a module and arguments: run a script as installed, named dotloupe or otherwise."""

    def run(module, *arguments, name="dotloupe", stdout=subprocess.PIPE, **environment):
        script = tmp_path / module / name
        script.parent.mkdir(exist_ok=True)
        script.write_text(SCRIPT.format(module=module))
        ended = subprocess.run(
            [sys.executable, script, *arguments],
            stdin=subprocess.DEVNULL,
            stdout=stdout,
            stderr=subprocess.PIPE,
            check=False,
            env={**os.environ, **environment},
        )
        return ended.returncode, ended.stdout, ended.stderr

    return run


def test_what_is_installed_is_what_is_tested_here():
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))
    assert project["project"]["scripts"] == {"dotloupe": "dotloupe.entry:main"}


def test_the_help_kept_is_what_the_command_library_prints(installed):
    status, printed, said = installed("dotloupe.cli", "--help", COLUMNS="80")
    assert (status, said) == (0, b"")
    kept = Path(entry.HELP).read_bytes()
    assert kept == printed, "make it anew as DEVELOPERS.md says"


@pytest.mark.parametrize("columns", ["", "0", "50", "79", "80", "81", "200"])
def test_help_at_any_width(installed, columns):
    asked = [installed(f"dotloupe.{m}", "--help", COLUMNS=columns) for m in ("entry", "cli")]
    assert asked[0] == asked[1]
    assert asked[0][0] == 0


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        ([], "dotloupe"),
        (["--help"], "patches"),
        (["rank", "--help"], "dotloupe"),
        (["--help", "rank"], "dotloupe"),
        (["--no-such-option"], "dotloupe"),
    ],
)
def test_all_else_is_the_command_itself(installed, arguments, name):
    asked = [installed(f"dotloupe.{m}", *arguments, name=name) for m in ("entry", "cli")]
    assert asked[0] == asked[1]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a full disk as Linux plays it")
def test_help_that_finds_no_room_is_said_as_by_the_command(installed):
    told = []
    for module in ("dotloupe.entry", "dotloupe.cli"):
        with Path("/dev/full").open("w") as full:
            told.append(installed(module, "--help", stdout=full))
    assert told[0] == told[1]
    status, _, said = told[0]
    assert status == 2
    assert said.startswith(b"dotloupe: standard output: ")


def test_help_that_nobody_reads_ends_as_by_the_command(installed):
    ended = []
    for module in ("dotloupe.entry", "dotloupe.cli"):
        reader, writer = os.pipe()
        os.close(reader)
        ended.append(installed(module, "--help", stdout=writer))
        os.close(writer)
    assert ended[0] == ended[1]
    assert ended[0][2] == b""


def test_help_loads_neither_the_command_library_nor_arrays():
    program = (
        "import sys; from dotloupe.entry import main; sys.argv = ['dotloupe', '--help']; main(); "
        "print(sorted(sys.modules.keys() & {'typer', 'numpy', 'typing'}), file=sys.stderr)"
    )
    ended = subprocess.run(
        [sys.executable, "-S", "-c", program],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "COLUMNS": "80", "PYTHONPATH": str(Path(entry.HELP).parents[1])},
    )
    assert ended.stdout == Path(entry.HELP).read_text("ascii")
    assert ended.stderr == "[]\n"


@pytest.mark.parametrize("module", ["dotloupe.entry", "dotloupe.cli"])
def test_with_standard_output_closed_nothing_is_said(installed, module, tmp_path):
    installed(module, "--help")
    script = tmp_path / module / "dotloupe"
    for argument in ("--help", "measure --help"):
        line = f'"{sys.executable}" "{script}" {argument} >&-'
        ended = subprocess.run(["sh", "-c", line], stderr=subprocess.PIPE, check=False)
        assert (ended.returncode, ended.stderr) == (0, b"")
