"""What differs on Windows and macOS, as far as this system can stand for them.

No machine of either is at hand: these tests hold the differences that are known, from memory, of
their file systems, their terminals and their standard libraries.
"""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from dotloupe.session.session_file import load_plan

HERE = Path(__file__).parent
PACKAGE = HERE.parent / "analysis" / "dotloupe"
SAMPLES = HERE.parent / "sample_captures" / "quality"
ONLY_ON_POSIX = {"fcntl", "grp", "posix", "pty", "pwd", "resource", "syslog", "termios", "tty"}
ONLY_OF_POSIX = {
    ("os", "chown"),
    ("os", "fork"),
    ("os", "getuid"),
    ("os", "geteuid"),
    ("os", "killpg"),
    ("os", "mkfifo"),
    ("os", "sched_getaffinity"),
    ("os", "uname"),
    ("signal", "SIGALRM"),
    ("signal", "SIGHUP"),
    ("signal", "SIGKILL"),
    ("signal", "SIGUSR1"),
    ("signal", "pthread_sigmask"),
}
COMMAND = [sys.executable, "-c", "from dotloupe.cli import main; main()"]


def trees():
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path.relative_to(PACKAGE).as_posix(), ast.parse(path.read_text("utf-8"))


def left_on_windows(node):
    """Whether a function is left first of all where the system is Windows."""
    if not isinstance(node, ast.FunctionDef):
        return False
    first = next((part for part in node.body if not isinstance(part, ast.Expr)), None)
    return (
        isinstance(first, ast.If)
        and ast.unparse(first.test) == "sys.platform == 'win32'"
        and isinstance(first.body[-1], ast.Return)
    )


def elsewhere_too(tree):
    """Parts of a file that are run on Windows as well."""
    for node in ast.iter_child_nodes(tree):
        if not left_on_windows(node):
            yield node
            yield from elsewhere_too(node)


def test_nothing_is_imported_that_other_systems_do_not_have():
    for name, tree in trees():
        for node in elsewhere_too(tree):
            if isinstance(node, ast.Import):
                assert not {a.name.split(".")[0] for a in node.names} & ONLY_ON_POSIX, name
            elif isinstance(node, ast.ImportFrom):
                assert (node.module or "").split(".")[0] not in ONLY_ON_POSIX, name
            elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                assert (node.value.id, node.attr) not in ONLY_OF_POSIX, name


def test_every_text_is_read_and_written_in_a_named_encoding():
    """Without one, Windows takes that of the machine's language."""
    for name, tree in trees():
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            words = {keyword.arg for keyword in node.keywords}
            if node.func.attr == "read_text":
                assert node.args or "encoding" in words, f"{name}, line {node.lineno}"
            if node.func.attr == "write_text":
                assert len(node.args) > 1 or "encoding" in words, f"{name}, line {node.lineno}"


RANK = ("rank", str(SAMPLES / "fast"), str(SAMPLES / "fine"))


@pytest.mark.parametrize(
    ("encoding", "words"), [("cp1252", RANK), ("cp437", ("--help",)), ("ascii", ("rank", "--help"))]
)
def test_a_terminal_without_some_letters_gets_all_lines(encoding, words, tmp_path):
    """Code pages of Windows have no minus sign, no arrow and not all quotation marks."""
    environment = os.environ | {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    command = [*COMMAND, *words, *(("--out", str(tmp_path)) if words == RANK else ())]
    done = subprocess.run(command, env=environment, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stderr
    assert done.stdout.decode(encoding).strip()


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_plan_is_read_as_the_editors_of_all_systems_save_it(tmp_path, ending, mark):
    """Editors of Windows end lines with two characters and may begin with a byte order mark."""
    lines = ('printer = "a"', 'paper = "b"', "[[runs]]", "run = 1", "ppi = 600", 'mode = "x"')
    path = tmp_path / "plan.toml"
    path.write_bytes((mark + ending.join(lines) + ending).encode())
    plan = load_plan(path)
    assert (plan.printer, plan.runs[0].ppi) == ("a", 600)
