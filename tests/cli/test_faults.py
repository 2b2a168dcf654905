"""The command where names, disks and readers of its output misbehave: one line, right status."""

import errno
import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from itertools import chain
from pathlib import Path

import pytest

from dotloupe.cli import command as cli
from dotloupe.cli.output import progress
from dotloupe.measurement import Measurement, print_id
from dotloupe.number import Number
from dotloupe.session.measuring import measure_file
from dotloupe.storage.file_names import as_text

NAMES = {
    "not text": os.fsdecode(b"bad\xff"),
    "two lines": "new\nline",
    "markup": "[red]x[bold]",
    "mathematics": "$a_b$",
    "escape sequence": "\x1b[2Jgone",
    "page": "<script>alert(1)</script>".replace("/", "|"),
}


def measured(paths, *_, **__):
    """Stand for measuring: two prints a setting whose numbers differ a little."""
    for number, path in enumerate(paths):
        value = 4.0 + len(str(path)) % 7 / 10 + number / 100
        numbers = {n: Number(value, value - 0.1, value + 0.1, "cycles/mm") for n in ("detail_x",)}
        sha256 = f"{number}{path.name!r}"
        yield Measurement(str(path), sha256, print_id(str(path)), 1, 600.0, True, (), (), numbers)


@pytest.fixture
def run(monkeypatch, tmp_path, capsys):
    """Run the command in this process, in an empty folder; status and what it said."""
    monkeypatch.chdir(tmp_path)
    for importer in ("settings", "planned"):
        monkeypatch.setattr(f"dotloupe.session.{importer}.measure_paths", measured)
    monkeypatch.setattr("dotloupe.session.measure_paths", measured)
    # how this process ends is the test runner's affair
    monkeypatch.setattr(cli, "end_when_terminated", lambda: None)

    def command(*words):
        monkeypatch.setattr(sys, "argv", ["dotloupe", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = capsys.readouterr()
        return ended.value.code or 0, said.out, said.err

    return command


def setting(name):
    folder = Path(name)
    folder.mkdir()
    for number in (1, 2):
        (folder / f"print{number}.jpg").write_bytes(f"{name!r} {number}".encode())
    return folder


@pytest.mark.parametrize("kind", NAMES)
def test_a_setting_of_any_name_is_ranked_reported_and_kept(run, kind):
    strange, plain = setting(NAMES[kind]), setting("plain")
    status, out, err = run("rank", strange, plain, "--out", "report", "--json", "n.json")
    assert (status, err) == (0, "")
    out.encode("utf-8")
    assert "\x1b" not in out
    page = Path("report/index.html").read_bytes().decode("utf-8")
    assert "<script>alert" not in page
    kept = json.loads(Path("n.json").read_text("utf-8"))
    assert set(kept["captures"]) == {as_text(strange.name), "plain"}
    paths = [shot["path"] for shot in kept["captures"][as_text(strange.name)]]
    assert [Path(path).exists() for path in paths] == [True, True]  # the very files


@pytest.mark.parametrize("kind", NAMES)
def test_a_missing_file_of_any_name_is_one_line(run, kind, monkeypatch):
    path = f"{NAMES[kind]}.jpg"
    monkeypatch.setattr(
        "dotloupe.session.measure_paths",
        lambda paths, _: chain.from_iterable(map(measure_file, paths)),
    )
    status, out, err = run("measure", path)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert "there is no such file; check the name" in err
    assert "\x1b" not in err


def test_photographs_of_any_name_enter_the_history(run):
    folder = setting(NAMES["not text"])
    status, _, err = run("track", "add", *folder.iterdir(), *("--history", "h.sqlite"), *LABELS)
    assert (status, err) == (0, "")
    assert run("track", "show", "detail_x", "--history", "h.sqlite")[0] == 0
    assert run("track", "export", "--out", "kept", "--history", "h.sqlite")[0] == 0
    with closing(sqlite3.connect("h.sqlite")) as db:
        paths = {row[0] for row in db.execute("SELECT path FROM captures")}
    assert paths == {rf"bad\xff/print{n}.jpg" for n in (1, 2)}


LABELS = ("--printer", "desk", "--paper", "lustre", "--mode", "fast", "--date", "2026-03-12")


@pytest.mark.parametrize("label", ["--printer", "--paper", "--mode"])
def test_labels_that_are_not_text_are_refused(run, label):
    folder = setting("plain")
    words = [NAMES["not text"] if before == label else word
             for before, word in zip(("", *LABELS), LABELS, strict=False)]  # fmt: skip
    status, _, err = run("track", "add", *folder.iterdir(), *words)
    assert status == 2
    assert err == f"dotloupe: {label[2:]} bad\\xff: bytes that are not text: write it again\n"


def test_names_are_no_markup_on_the_way(monkeypatch):
    """Closing a tag that was never opened would end the run in the progress bar."""
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TTY_COMPATIBLE", "1")
    with progress(2, quiet=False) as told:
        told("[/red].jpg")
        told("[bold")


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(errno.EACCES, "Permission denied", "/a/b.jpg"), "/a/b.jpg: Permission"),
        (OSError(errno.EIO, "Input/output error"), "standard output: Input/output error"),
        (MemoryError(), "memory is short; close"),
    ],
)
def test_what_the_system_refuses_is_one_line(run, monkeypatch, error, words):
    def refuses(*_, **__):
        raise error

    monkeypatch.setattr("dotloupe.session.measure_paths", refuses)
    monkeypatch.setattr(cli, "discard_output", lambda: None)
    status, _, err = run("measure", "a.jpg")
    assert status == 2
    assert err.count("\n") == 1
    assert words in err


def started(words, **streams):
    code = "from dotloupe.cli import main; main()"
    return subprocess.Popen([sys.executable, "-c", code, *words], stderr=subprocess.PIPE, **streams)


def test_output_to_a_full_disk_is_one_line():
    with Path("/dev/full").open("wb") as full:
        command = started(["--help"], stdout=full)
        said = command.communicate()[1].decode()
    assert command.returncode == 2
    assert said == (
        "dotloupe: standard output: No space left on device; "
        "check its place, its permissions and free space\n"
    )


def test_a_reader_that_has_seen_enough_is_no_error():
    reading, writing = os.pipe()
    os.close(reading)
    command = started(["--help"], stdout=writing)
    os.close(writing)
    assert command.communicate()[1] == b""
    assert command.returncode == 0


@pytest.mark.parametrize(
    ("name", "text"),
    [("a.jpg", "a.jpg"), ("é", "é"), ("\udcff.jpg", r"\xff.jpg"), ("\ud800", r"\ud800")],
)
def test_names_as_text(name, text):
    assert as_text(name) == text
