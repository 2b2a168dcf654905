"""The history file: adding twice, crashes, several writers, damage, migration, export."""

import csv
import hashlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from dotloupe.capture import Simulated
from dotloupe.compare.cautions import SimulatedCaptures
from dotloupe.compare.history import rows as history_rows, schema as history_schema
from dotloupe.compare.history.printer_history import History
from dotloupe.errors import InputError
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.report.model import history_model
from dotloupe.report.text.limits import simulated_notice
from dotloupe.report.text.trend import advice_sentence

SETTING = {"printer": "the desktop printer", "paper": "lustre", "mode": "fast"}


def measurement(name, grain=0.8, fit=True, print_id=None, **numbers):
    values = {"grain": grain, **numbers}
    return Measurement(
        path=f"captures/{name}.tif",
        sha256=f"hash-{name}",
        print_id=print_id or name,
        run=7,
        sent_ppi=600.0,
        fit=fit,
        reasons=() if fit else ("out of focus",),
        warnings=("camera included",),
        numbers={c: Number(v, v - 0.02, v + 0.02, "L* rms") for c, v in values.items()},
    )


def contents(path):
    with sqlite3.connect(path) as db:
        text = "\n".join(db.iterdump())
    db.close()
    return text


def test_adding_twice_changes_nothing(tmp_path):
    path = tmp_path / "history.sqlite"
    history = History(path)
    first = [measurement("a"), measurement("b")]
    assert history.add(first, printed_on="2026-03-12", **SETTING) == ("hash-a", "hash-b")
    before = contents(path)
    assert history.add(first, printed_on="2026-03-12", **SETTING) == ()
    assert history.add(measurement("a", grain=9.9), printed_on="2026-03-12", **SETTING) == ()
    assert contents(path) == before


def test_one_photograph_is_not_two_prints(tmp_path):
    history = History(tmp_path / "history.sqlite")
    history.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    before = contents(history.path)
    mixed = [measurement("c"), measurement("a")]
    with pytest.raises(InputError) as caught:
        history.add(mixed, printed_on="2026-03-13", **SETTING)
    assert str(caught.value) == (
        "captures/a.tif: this photograph is in the history already as print a of mode fast of "
        "2026-03-12: add it as that, or check the file"
    )
    # nothing of the refused call stays
    assert contents(history.path) == before


def test_track_reads_what_was_added(tmp_path):
    history = History(tmp_path / "history.sqlite")
    rng = np.random.default_rng(1)
    for i in range(8):
        shots = [measurement(f"p{i}-s{s}", 0.8 + 0.01 * rng.standard_normal(), print_id=f"p{i}")
                 for s in range(2)]  # fmt: skip
        history.add(shots, printed_on=date(2026, 1, 1 + i), **SETTING)
    history.add(measurement("bad", 5.0, fit=False), printed_on="2026-01-09", **SETTING)
    history.add_event("alignment", printer=SETTING["printer"], happened_on="2026-01-05", note="x")
    history.add_event("alignment", printer=SETTING["printer"], happened_on="2026-01-05", note="x")
    t = history.track("grain")
    assert [p.photographs for p in t.points] == [2] * 8
    assert [e.kind for e in t.events] == ["alignment"]
    assert (t.baseline.n, t.baseline.first) == (7, date(2026, 1, 1))
    assert (t.event_steps[0].n_before, t.event_steps[0].n_after) == (4, 4)
    assert t.points[0].captures == ("hash-p0-s0", "hash-p0-s1")
    assert f"“{SETTING['mode']}”" in advice_sentence(t)


def test_simulated_photographs_are_counted_and_told_before_the_answer(tmp_path):
    history = History(tmp_path / "history.sqlite")
    invented = [replace(measurement(f"s{i}"), warnings=(Simulated(),)) for i in range(3)]
    history.add([measurement("a"), *invented], printed_on="2026-03-12", **SETTING)
    found = history.track("grain")
    assert SimulatedCaptures(3, 4) in found.cautions
    assert simulated_notice(history_model(found)).startswith("Simulated data")
    only_real = History(tmp_path / "real.sqlite")
    only_real.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    assert simulated_notice(history_model(only_real.track("grain"))) == ""


def test_track_asks_which(tmp_path):
    history = History(tmp_path / "history.sqlite")
    with pytest.raises(InputError, match="no such history"):
        history.track()
    assert not history.path.exists()
    history.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    history.add(measurement("b"), printed_on="2026-03-12", **{**SETTING, "mode": "fine"})
    with pytest.raises(InputError, match="choose one of fast, fine"):
        history.track()
    with pytest.raises(InputError, match="mode slow: not in"):
        history.track(mode="slow")
    with pytest.raises(InputError, match="no value of detail_x: choose one of grain"):
        history.track("detail_x", mode="fast")
    assert len(history.track(mode="fine").points) == 1


def test_bad_words_are_refused_before_anything_is_written(tmp_path):
    history = History(tmp_path / "history.sqlite")
    with pytest.raises(InputError, match="write it as 2026-03-12"):
        history.add(measurement("a"), printed_on="12 March", **SETTING)
    for noun in ("printer", "paper", "mode"):
        with pytest.raises(InputError, match=f"{noun} has no name"):
            history.add(measurement("a"), printed_on="2026-03-12", **{**SETTING, noun: " "})
    with pytest.raises(InputError, match="use alignment, cleaning, service, move, inks, paper"):
        history.add_event("dusting", printer="p", happened_on="2026-03-12")
    assert not history.path.exists()


def test_a_newer_version_adds_results_beside_the_old(tmp_path, monkeypatch):
    history = History(tmp_path / "history.sqlite")
    history.add(measurement("a", 0.8), printed_on="2026-03-12", **SETTING)
    for module in ("history.printer_history", "history.rows"):
        monkeypatch.setattr(f"dotloupe.compare.{module}.program_version", lambda: "9.0")
    assert history.add(measurement("a", 0.9), printed_on="2026-03-12", **SETTING) == ("hash-a",)
    t = history.track()
    assert [(p.value, p.photographs, p.versions) for p in t.points] == [(0.9, 1, ("9.0",))]
    history.export(tmp_path / "out")
    rows = json.loads((tmp_path / "out" / "history.json").read_text())["results"]
    assert sorted(r["value"] for r in rows) == [0.8, 0.9]


def test_export(tmp_path):
    history = History(tmp_path / "history.sqlite")
    history.add([measurement("a", mottle_4=0.01)], printed_on="2026-03-12", **SETTING)
    history.add_event("move", printer=SETTING["printer"], happened_on="2026-03-10", note="new room")
    paths = history.export(tmp_path / "out")
    assert [p.name for p in paths] == ["results.csv", "events.csv", "history.json"]
    with paths[0].open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(r["criterion"], float(r["value"])) for r in rows] == [
        ("grain", 0.8),
        ("mottle_4", 0.01),
    ]
    assert rows[0]["sha256"] == "hash-a"
    told = json.loads(paths[2].read_text())
    assert told["events"][0]["note"] == "new room"
    assert told["results"][0]["warnings"] == ["camera included"]


def damaged(path, how):
    raw = bytearray(path.read_bytes())
    if how == "header":
        raw[0:16] = b"\x00" * 16
    elif how == "truncated":
        raw = raw[: len(raw) // 2]
    elif how == "overwritten":
        raw[4096:8192] = os.urandom(4096)
    elif how == "one number":
        value = np.array(0.8125, ">f8").tobytes()
        at = raw.find(value)
        assert at > 0
        raw[at : at + 8] = np.array(0.9375, ">f8").tobytes()
    elif how == "text":
        raw = bytearray(b"my prints\n" * 500)
    path.write_bytes(raw)
    return bytes(raw)


@pytest.mark.parametrize("how", ["header", "truncated", "overwritten", "one number", "text"])
def test_a_damaged_file_is_refused_with_advice_and_left_untouched(tmp_path, how):
    history = History(tmp_path / "history.sqlite")
    history.add(
        [measurement(f"m{i}", 0.8125) for i in range(20)], printed_on="2026-03-12", **SETTING
    )
    before = damaged(history.path, how)
    with pytest.raises(InputError, match=r"damaged .*left untouched: put a backup in its place"):
        history.track()
    if how != "one number":
        with pytest.raises(InputError, match="left untouched"):
            history.add(measurement("new"), printed_on="2026-03-12", **SETTING)
        assert history.path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["history.sqlite"]


def test_another_programs_file_is_refused(tmp_path):
    path = tmp_path / "other.sqlite"
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE songs (name TEXT)")
    db.commit()
    db.close()
    before = path.read_bytes()
    with pytest.raises(InputError, match="another program"):
        History(path).add(measurement("a"), printed_on="2026-03-12", **SETTING)
    assert path.read_bytes() == before


def test_a_newer_file_is_refused(tmp_path):
    history = History(tmp_path / "history.sqlite")
    history.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    db = sqlite3.connect(history.path)
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(InputError, match="newer dotloupe"):
        history.track()


def test_an_older_file_is_migrated_with_a_backup(tmp_path, monkeypatch):
    history = History(tmp_path / "history.sqlite")
    history.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    before = contents(history.path)
    further = (*history_schema.MIGRATIONS, ("ALTER TABLE prints ADD COLUMN note TEXT",))
    monkeypatch.setattr(history_schema, "MIGRATIONS", further)
    assert len(history.track().points) == 1
    backup = tmp_path / f"history.sqlite.form{len(history_schema.MIGRATIONS) - 1}.backup"
    assert contents(backup) == before
    assert "note TEXT" in contents(history.path)
    assert {p.name for p in tmp_path.iterdir()} == {"history.sqlite", backup.name}


def test_a_migration_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    history = History(tmp_path / "history.sqlite")
    history.add(measurement("a"), printed_on="2026-03-12", **SETTING)
    before = contents(history.path)
    step = ("ALTER TABLE prints ADD COLUMN note TEXT", "ALTER TABLE nothing ADD COLUMN x")
    faulty = (*history_schema.MIGRATIONS, step)
    monkeypatch.setattr(history_schema, "MIGRATIONS", faulty)
    with pytest.raises(InputError):
        history.track()
    assert contents(history.path) == before


WRITER = """
import sys
sys.path.insert(0, sys.argv[3])
from test_history import History, SETTING, measurement
path, name = sys.argv[1:3]
count = int(sys.argv[4])
history = History(path)
for i in range(count):
    shot = measurement(f"{name}-{i}")
    history.add(shot, printed_on="2026-03-12", **SETTING)
    print(shot.sha256, flush=True)
"""


def writer(path, name, count):
    here = Path(__file__).parent
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(here), str(count)],
        stdout=subprocess.PIPE,
    )


def stored(path):
    db = sqlite3.connect(path)
    rows = {r[0] for r in db.execute("SELECT capture FROM measurements")}
    whole = db.execute(
        "SELECT count(*) FROM measurements WHERE id NOT IN (SELECT measurement FROM results)"
    ).fetchone()[0]
    db.close()
    assert whole == 0
    return rows


def killed_writers(path, times):
    """Kill a writing process at a random moment, again and again; count what it had finished."""
    rng = np.random.default_rng(6)
    finished = set()
    for k in range(times):
        process = writer(path, f"w{k}", 1000)
        # from the first finished add on, so that the kill falls into the writing
        first = process.stdout.readline()
        time.sleep(float(rng.uniform(0, 0.05)))
        process.send_signal(signal.SIGKILL)
        told = first + process.stdout.read()
        process.wait()
        process.stdout.close()
        finished |= {line.decode() for line in told.split(b"\n")[:-1]}
        assert finished <= stored(path)
        assert History(path).track().points
    return finished


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system with SIGKILL")
def test_killed_while_adding_loses_nothing_finished(tmp_path):
    finished = killed_writers(tmp_path / "history.sqlite", 3)
    assert len(finished) >= 3


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system with SIGKILL")
def test_killed_a_hundred_times_while_adding_loses_nothing_finished(tmp_path):
    finished = killed_writers(tmp_path / "history.sqlite", 100)
    print(f"killed 100 times; {len(finished)} finished adds, all there")
    assert len(finished) >= 100


def test_two_processes_adding_at_once_lose_nothing(tmp_path):
    path = tmp_path / "history.sqlite"
    both = [writer(path, name, 12) for name in ("left", "right")]
    told = [p.communicate(timeout=120)[0] for p in both]
    assert [p.returncode for p in both] == [0, 0]
    names = {line for out in told for line in out.decode().split()}
    assert len(names) == 24
    assert stored(path) == names


def made_by_the_first_form(path):
    """A history as the first form of the file had it: no standard errors, hashes without them."""
    History(path).add(measurement("a"), printed_on="2026-03-12", **SETTING)
    db = sqlite3.connect(path)
    columns = "sha256, version, parameters, fit, reasons, warnings"
    header = list(
        db.execute(
            f"SELECT {columns} FROM measurements JOIN captures ON sha256 = capture"
        ).fetchone()
    )
    numbers = [list(n) for n in db.execute("SELECT name, value, low, high, unit FROM results")]
    digest = hashlib.sha256(json.dumps([header, numbers]).encode()).hexdigest()
    db.execute("UPDATE measurements SET digest = ?", (digest,))
    db.execute("ALTER TABLE results DROP COLUMN standard_error")
    db.execute("ALTER TABLE results DROP COLUMN degrees")
    db.execute("ALTER TABLE measurements DROP COLUMN simulated")
    db.execute("PRAGMA user_version = 1")
    db.commit()
    db.close()


def test_a_history_of_the_first_form_is_read_and_its_errors_are_normal(tmp_path):
    path = tmp_path / "history.sqlite"
    made_by_the_first_form(path)
    (point,) = History(path).track("grain").points
    assert point.standard_error == pytest.approx(0.02 / 1.959964)


def test_an_error_of_few_degrees_comes_back_as_it_was_measured(tmp_path):
    """Its interval is 2.306 standard errors wide to either side, and nobody divides by 1.96."""
    history = History(tmp_path / "history.sqlite")
    m = measurement("a")
    m.numbers["grain"] = Number(
        0.8, 0.8 - 0.2306, 0.8 + 0.2306, "L* rms", None, Uncertainty(0.1, 8)
    )
    history.add(m, printed_on="2026-03-12", **SETTING)
    (point,) = history.track("grain").points
    assert point.standard_error == 0.1


def test_a_new_field_of_the_header_leaves_older_hashes_as_they_are(monkeypatch):
    header = ["hash", "1", "{}", 1, "[]", "[]"]
    numbers = [["grain", 0.8, 0.7, 0.9, "L* rms", None, None]]
    before = history_rows._digest(header, numbers)
    monkeypatch.setattr(history_rows, "_HEADER", (*history_rows._HEADER, "light"))
    assert history_rows._digest([*header, None], numbers) == before
    assert history_rows._digest([*header, "daylight"], numbers) != before
