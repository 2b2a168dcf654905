"""Results in their place whole or not at all: full disks, read-only folders, interruptions."""

import json
import os
import resource
import shutil
import tempfile
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import jinja2
import numpy as np
import pytest

import dotloupe
from dotloupe.cli.output import write_json
from dotloupe.compare.history.printer_history import History
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.patch.patch import Patch
from dotloupe.report.page import write_report
from dotloupe.simulate.files import write_capture
from dotloupe.storage.atomic_write import whole, write_text

EARLIER = "an earlier result"
NOBODY = 65534
"""Number of the user without rights, as Linux has it."""


def measurement(name, value):
    number = Number(value, value - 0.1, value + 0.1, "cycles/mm")
    numbers = {"detail_x": number, "detail_y": number}
    return Measurement(f"{name}.jpg", name, name, 1, 600.0, True, (), (), numbers)


def ranking():
    return rank(
        {
            "fast": [measurement("a", 4.0), measurement("b", 4.1)],
            "fine": [measurement("c", 5.0), measurement("d", 5.2)],
        }
    )


def export(path):
    history = path.with_name("h.sqlite")
    if not history.exists():
        History(history).add(
            measurement("a", 4.0), printer="p", paper="q", mode="m", printed_on=date(2026, 3, 12)
        )
    History(history).export(path.parent)


def invented(path):
    coded = {8: np.uint8, 16: np.uint16}
    noise = np.random.default_rng(0).integers(0, 256, (64, 96, 3))
    shot = SimpleNamespace(jpeg_quality=90)
    write_capture(path, SimpleNamespace(coded=lambda b: noise.astype(coded[b]), shot=shot))


WRITERS = {
    "numbers.json": lambda path: write_json(str(path), {"values": list(range(3000))}),
    "history.json": export,
    "results.csv": export,
    "run1.tif": lambda path: Patch(150, 1).save(path),
    "shot.tif": invented,
    "shot.png": invented,
    "shot.jpg": invented,
    "index.html": lambda path: write_report(ranking(), path.parent),
}


@contextmanager
def largest_file(size_bytes):
    """Every file that grows over the limit fails to be written, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def files_of(folder):
    return {p.name: p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def one_line(caught, folder):
    message = str(caught.value)
    assert message.startswith(f"{folder}")
    assert "; choose another" in message
    assert "\n" not in message


@pytest.mark.parametrize("name", WRITERS)
def test_a_full_disk_leaves_the_earlier_file(tmp_path, name):
    path = tmp_path / name
    export(tmp_path / "history.json")  # so that the history itself is there before the disk is full
    path.write_text(EARLIER)
    before = files_of(tmp_path)
    with largest_file(100), pytest.raises(InputError, match="too large") as caught:
        WRITERS[name](path)
    one_line(caught, tmp_path)
    assert path.read_text() == EARLIER
    assert files_of(tmp_path) == before


@pytest.mark.parametrize("name", WRITERS)
def test_an_interruption_leaves_the_earlier_file(tmp_path, name, monkeypatch):
    path = tmp_path / name
    export(tmp_path / "history.json")
    path.write_text(EARLIER)
    before = set(files_of(tmp_path))

    def interrupted(part, target):
        if target.name == name:
            raise KeyboardInterrupt
        return part.rename(target)

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        WRITERS[name](path)
    assert path.read_text() == EARLIER
    assert not [n for n in set(files_of(tmp_path)) - before if "part" in n]


@pytest.fixture
def read_only_folder():
    """A folder that this process may read and not write, whoever runs the test."""
    folder = Path(tempfile.mkdtemp())
    user = os.geteuid()
    folder.chmod(0o555)
    try:
        if user == 0:
            os.seteuid(NOBODY)
        if not all(may_be_read(module) for module in (dotloupe, jinja2)):
            pytest.skip("another user may not read the program: put it where all users may")
        yield folder
    finally:
        os.seteuid(user)
        shutil.rmtree(folder)


def may_be_read(module):
    """Whether the files beside a module are there for the user that the process now is."""
    try:
        return any(Path(module.__file__).parent.iterdir())
    except PermissionError:
        return False


@pytest.mark.parametrize("name", [n for n in WRITERS if n not in ("history.json", "results.csv")])
def test_a_read_only_folder_is_named(read_only_folder, name):
    with pytest.raises(InputError, match="denied") as caught:
        WRITERS[name](read_only_folder / name)
    one_line(caught, read_only_folder)
    assert not files_of(read_only_folder)


def test_a_history_in_a_read_only_folder_is_named(read_only_folder):
    with pytest.raises(InputError, match=r"unable to open database file.*check its folder"):
        export(read_only_folder / "history.json")
    assert not files_of(read_only_folder)


def test_a_history_on_a_full_disk_keeps_what_it_held(tmp_path):
    path = tmp_path / "h.sqlite"
    export(tmp_path / "history.json")
    named = {"printer": "p", "paper": "q", "mode": "m", "printed_on": "2026-03-13"}
    many = [measurement(f"shot {i}", 4.0) for i in range(200)]
    with largest_file(path.stat().st_size), pytest.raises(InputError, match=r"h.sqlite: disk I/O"):
        History(path).add(many, **named)
    assert len(History(path).track("detail_x").points) == 1
    assert len(History(path).add(many, **named)) == 200


def test_a_link_is_followed_and_stays_a_link(tmp_path):
    (tmp_path / "there.json").write_text(EARLIER)
    (tmp_path / "link.json").symlink_to("there.json")
    write_text(tmp_path / "link.json", "{}")
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "there.json").read_text() == "{}"


def test_a_device_is_written_to_and_stays_a_device(capfd):
    write_text(Path("/dev/stdout"), "{}\n")
    assert Path("/dev/stdout").is_symlink()
    write_text(Path("/dev/null"), "{}\n")
    assert Path("/dev/null").is_char_device()
    assert capfd.readouterr().out == "{}\n"


def test_a_name_that_is_not_text_comes_back_from_json(tmp_path):
    name = os.fsdecode(b"print\xff.jpg")
    write_json(str(tmp_path / "a.json"), {"path": name})
    content = (tmp_path / "a.json").read_bytes().decode("utf-8")
    assert json.loads(content)["path"] == name


def test_long_names_are_written(tmp_path):
    path = tmp_path / ("ä" * 125 + ".json")  # 255 bytes, the most that file systems take
    with whole(path) as part:
        part.write_text("{}")
    assert path.read_text() == "{}"


def test_a_file_that_holds_the_same_is_left_as_it_is(tmp_path):
    path = tmp_path / "result.json"
    write_text(path, "numbers")
    before = path.stat()
    write_text(path, "numbers")
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    # as long, and another
    write_text(path, "letters")
    assert path.read_text() == "letters"
