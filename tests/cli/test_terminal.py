"""The command at home in a terminal: its words, its progress, its refusals, its end."""

import os
import pty
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path

import pytest
from command_line import dotloupe

from dotloupe.cli.command import COMMANDS

SAMPLES = Path(__file__).parents[2] / "sample_captures" / "quality"
COMMAND = [sys.executable, "-c", "from dotloupe.cli import main; main()"]


def parser_of(name):
    return import_module(f"dotloupe.cli.{COMMANDS[name][0]}").parser()


@pytest.mark.parametrize("name", COMMANDS)
def test_examples_are_commands_that_parse(name):
    parser = parser_of(name)
    examples = re.findall(r"Example: (.*(?:\n {9}.*)*)", parser.description)
    assert examples
    for example in examples:
        words = shlex.split(example)
        own = ["dotloupe", *name.split()]
        assert words[: len(own)] == own
        # raises where an option is unknown, a value does not fit or something is missing
        parser.parse_intermixed_args(words[len(own) :])


@pytest.mark.parametrize(
    "words", [("--quiet", "a", "b"), ("a", "--quiet", "b"), ("a", "b", "--quiet")]
)
def test_options_stand_before_between_and_after_what_is_given(words):
    given = parser_of("rank").parse_intermixed_args(list(words))
    assert (given.places, given.quiet) == ([Path("a"), Path("b")], True)


def test_the_list_of_commands_is_whole_lines():
    lines = dotloupe("--help").stdout.splitlines()
    commands = lines[lines.index("commands:") + 1 :]
    assert len(commands) == len(COMMANDS) == 16
    assert all(line.endswith((".", "?")) and "..." not in line for line in commands)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("sheet", "--ppi", "abc", "--out", "x.tif"), ("--ppi", "abc is not a whole number")),
        (("sheet", "--ppi=4.5", "--out", "x.tif"), ("--ppi", "4.5 is not a whole number")),
        (("sheet", "--ppi", "600"), ("--out", "required")),
        (("sheet", "--ppi"), ("--ppi", "expected one argument", "dotloupe sheet --help")),
        (("ladder", "a", "b", "--picture-ppi", "x"), ("--picture-ppi", "x is not a number")),
        (("open", "x", "--port", "99999"), ("--port", "99999 is too large", "at most 65535")),
        (("open", "x", "--port", "-1"), ("--port", "-1 is too small", "at least 0")),
        (("rank", "--qiet", "a", "b"), ("unrecognized arguments", "--qiet")),
        (("rnk",), ("no command rnk", "rank")),
        (("track", "ad"), ("no command ad", "track add")),
        (("open", "a", "b"), ("unrecognized arguments", "b")),
        (("sheet", "--ppi", "600", "--out", "b.jpg"), ("b.jpg", "TIFF alone", "end its name")),
        (("sheet", "--ppi", "600", "--out", "b"), ("b: ", "TIFF alone", "end its name")),
    ],
)
def test_words_that_cannot_be_used(arguments, words, tmp_path):
    result = dotloupe(*arguments, cwd=tmp_path)
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    for word in words:
        assert word in line
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", COMMANDS)
def test_help_names_what_to_give_in_capitals_and_says_what_it_is(name):
    parser = parser_of(name)
    text = parser.format_help()
    options = [action for action in parser._actions if action.option_strings]
    for option in options:
        assert option.help
        if option.nargs is None:
            assert re.search(rf"{option.option_strings[0]} [A-Z][A-Za-z]*\b", text)


def settings(folder):
    for name in ("fast", "fine"):
        (folder / name).mkdir()
        shutil.copy(SAMPLES / name / "print1.jpg", folder / name / f"{name}.jpg")
    return folder / "fast", folder / "fine"


@pytest.mark.parametrize(
    ("places", "words"),
    [
        (("--json", "none/x.json"), ("none/x.json", "no folder none")),
        (("--json", "fast"), ("fast: a folder", "--json")),
        (("--out", "taken"), ("taken: a file", "--out")),
        (("--out", "taken/report"), ("taken/report", "make it first")),
    ],
)
def test_places_that_cannot_be_written_are_named_before_measuring(places, words, tmp_path):
    settings(tmp_path)
    (tmp_path / "taken").write_text("here already")
    # captures that would be named if they were read
    (tmp_path / "fast" / "fast.jpg").write_text("no picture")
    result = dotloupe("rank", "fast", "fine", *places, cwd=tmp_path)
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    for word in words:
        assert word in line


def test_one_photograph_in_two_settings_is_refused_before_measuring(tmp_path):
    fast, fine = settings(tmp_path)
    shutil.copy(fast / "fast.jpg", fine / "another name.jpg")
    # would be named if it were read
    (fast / "zz.jpg").write_text("no picture")
    for command in ("rank", "ladder"):
        result = dotloupe(command, "fast", "fine", cwd=tmp_path)
        assert result.returncode == 2
        (line,) = result.stderr.splitlines()
        assert "fine/another name.jpg: the same photograph as fast/fast.jpg" in line
        assert "keep it in one of them" in line


def test_no_colour_when_piped(tmp_path):
    for arguments in ((), ("--help",), ("rank", "--help"), ("rank",), ("check", "none.jpg")):
        result = subprocess.run(
            [*COMMAND, *arguments],
            capture_output=True,
            text=True,
            cwd=tmp_path,
            check=False,
            env={**os.environ, "FORCE_COLOR": ""},
        )
        assert "\x1b" not in result.stdout + result.stderr


def read_to_the_end(terminal):
    seen = b""
    try:
        while piece := os.read(terminal, 4096):
            seen += piece
    except OSError:
        # Linux says so when the other side of a terminal is closed
        pass
    os.close(terminal)
    return seen


def test_progress_with_the_time_left_is_for_a_terminal_on_standard_error(tmp_path):
    capture = SAMPLES / "fast" / "print1.jpg"
    for quiet in (False, True):
        leader, follower = pty.openpty()
        running = subprocess.Popen(
            [*COMMAND, "check", str(capture), *["--quiet"] * quiet],
            stdout=subprocess.PIPE,
            stderr=follower,
            cwd=tmp_path,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
        )
        os.close(follower)
        seen = read_to_the_end(leader)
        out, _ = running.communicate()
        assert running.returncode == 0
        assert out.decode().startswith(f"{capture}: ")
        # how many of how many, and minutes and seconds left
        assert bool(re.search(rb"/1.*(0:\d\d:\d\d|-:--:--)", seen, re.DOTALL)) is not quiet


def heeds_interruption():
    """A process started in the background of a script inherits that it is not interrupted."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def processes_of(session):
    """CPU seconds of each process of a session that has not ended, by process."""
    found = {}
    for place in Path("/proc").glob("[0-9]*"):
        try:
            state, _, _, its_session, *more = (
                (place / "stat").read_text().rpartition(")")[2].split()
            )
        except OSError:
            continue
        if int(its_session) == session and state != "Z":
            # utime and stime, fields 14 and 15 (proc_pid_stat(5))
            found[int(place.name)] = sum(map(int, more[7:9])) / os.sysconf("SC_CLK_TCK")
    return found


def at_work(session):
    """Whether two processes besides the first have worked for a while."""
    cpu_s = [s for pid, s in processes_of(session).items() if pid != session]
    return sum(s > 0.5 for s in cpu_s) >= 2


def comes(what, patience_s=240.0):
    """Wait until something is so; whether it came to be."""
    end = time.monotonic() + patience_s
    while not (so := what()) and time.monotonic() < end:
        time.sleep(0.05)
    return so


@pytest.mark.skipif(not Path("/dev/shm").is_dir(), reason="looks for litter where Linux has it")
@pytest.mark.parametrize(
    ("send", "number", "status", "line"),
    [
        # as a terminal does, to all processes of the command
        (os.killpg, signal.SIGINT, 130, "interrupted; no file was left half written"),
        # as a service's manager does to all of them, and a person to the one that was started
        (os.killpg, signal.SIGTERM, 143, "ended from outside; no file was left half written"),
        (os.kill, signal.SIGTERM, 143, "ended from outside; no file was left half written"),
    ],
)
def test_an_end_from_outside_leaves_no_litter(send, number, status, line):
    home = Path(tempfile.mkdtemp())
    work, scratch = home / "work", home / "scratch"
    work.mkdir()
    scratch.mkdir()
    running = subprocess.Popen(
        [*COMMAND, "rank", SAMPLES / "fast", SAMPLES / "fine", "--json", "all.json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=work,
        env={**os.environ, "TMPDIR": str(scratch), "XDG_CACHE_HOME": str(home / "cache")},
        start_new_session=True,
        preexec_fn=heeds_interruption,
    )
    assert comes(lambda: at_work(running.pid))
    send(running.pid, number)
    out, said = running.communicate(timeout=120)
    assert running.returncode == status
    assert out == ""
    assert said == f"dotloupe: {line}\n"
    assert list(work.iterdir()) == []
    assert not list(home.rglob(".part_*"))

    def swept():
        """The last process sweeps up after the others."""
        here = [p.name.replace("_", "-") for p in Path("/dev/shm").iterdir()]
        shared = [name for name in here if f"-{running.pid}-" in name]
        return not (shared or list(scratch.iterdir()) or processes_of(running.pid))

    clean = comes(swept, 30.0)
    shutil.rmtree(home)
    assert clean
