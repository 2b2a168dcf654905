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
from pathlib import Path

import pytest
import typer

from dotloupe.cli.command import app

SAMPLES = Path(__file__).parents[2] / "sample_captures" / "quality"
COMMAND = [sys.executable, "-c", "from dotloupe.cli import main; main()"]


def dotloupe(*arguments, cwd=None, **environment):
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=cwd,
        check=False,
        env={**os.environ, **environment},
    )


def commands():
    """Every command with its path, groups left out."""

    def walk(command, path):
        for name, inner in getattr(command, "commands", {}).items():
            yield from walk(inner, (*path, name))
        if not hasattr(command, "commands"):
            yield " ".join(path), command

    return dict(walk(typer.main.get_command(app), ()))


@pytest.mark.parametrize("path", commands())
def test_examples_are_commands_that_parse(path):
    command = commands()[path]
    examples = re.findall(r"Example: (.*)", command.help)
    assert examples
    for example in examples:
        words = shlex.split(example)
        assert words[: 1 + len(path.split())] == ["dotloupe", *path.split()]
        # raises where an option is unknown, a value does not fit or something is missing
        command.make_context(path, words[1 + len(path.split()) :])


def test_the_list_of_commands_is_whole_lines():
    lines = dotloupe("--help").stdout.splitlines()
    commands = lines[lines.index("Commands:") + 1 :]
    assert len(commands) == 9
    assert all(line.endswith((".", "?")) and "..." not in line for line in commands)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("sheet", "--ppi", "abc", "--out", "x.tif"), ("--ppi abc", "give a whole number", "150")),
        (("sheet", "--ppi=4.5", "--out", "x.tif"), ("--ppi 4.5", "give a whole number")),
        (("sheet", "--ppi", "600"), ("give --out", "TIFF to write")),
        (("sheet", "--ppi"), ("--ppi", "missing", "dotloupe sheet --help")),
        (("ladder", "a", "b", "--picture-ppi", "x"), ("--picture-ppi x", "give a number")),
        (("open", "x", "--port", "99999"), ("--port 99999", "at most 65535")),
        (("rank", "--qiet", "a", "b"), ("no option --qiet", "did you mean --quiet?")),
        (("rnk",), ("no command rnk", "did you mean rank?")),
        (("track", "ad"), ("no command ad", "did you mean add?")),
        (("open", "a", "b"), ("b: more than it takes",)),
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


@pytest.mark.parametrize("path", commands())
def test_help_names_what_to_give_and_no_type_of_the_program(path):
    """A file, a folder, a number: in the words of the help, and none of the parser's `<...>`."""
    context = commands()[path].make_context(path, [], resilient_parsing=True)
    told = commands()[path].get_help(context)
    assert not re.findall(r"<[^<>]*>", told)
    # an option that takes a value says what, in capitals
    taking = [p for p in commands()[path].params if p.param_type_name == "option" and not p.is_flag]
    for option in taking:
        assert re.search(rf"{option.opts[0]} [A-Z][A-Za-z]*\b", told), option.opts[0]


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
        result = dotloupe(*arguments, cwd=tmp_path, FORCE_COLOR="")
        assert "\x1b" not in result.stdout + result.stderr


def test_the_shell_completes_commands():
    words = {"_DOTLOUPE_COMPLETE": "complete_bash", "COMP_WORDS": "dotloupe ra", "COMP_CWORD": "1"}
    code = "import sys; sys.argv[0] = 'dotloupe'; from dotloupe.cli import main; main()"
    result = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, **words},
    )
    assert result.stdout.split() == ["rank"]


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
        assert out.decode() == f"{capture}: fit\n"
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
        (os.killpg, signal.SIGINT, 130, "interrupted; nothing was left half done"),
        # as a service's manager does to all of them, and a person to the one that was started
        (os.killpg, signal.SIGTERM, 143, "ended from outside; nothing was left half done"),
        (os.kill, signal.SIGTERM, 143, "ended from outside; nothing was left half done"),
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
