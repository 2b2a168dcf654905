"""Is the head due? The verdict over all numbers of a history."""

import json
import sqlite3
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from dotloupe.compare.history import History, Remedy, State
from dotloupe.compare.history.verdict import _visible_since
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.report import head_json, history_model
from dotloupe.report.text import caution_text, head_sentences, history_table

NAMES = {"printer": "desk", "paper": "lustre", "mode": "fast"}
SOUND = {
    "grain": (0.5, 0.01, "L* rms"),
    **{f"detail_{a}": (6.0, 0.05, "cycles/mm") for a in "xy"},
    **{f"line_pairs_{a}": (9.0, 0.1, "lp/mm") for a in "xy"},
    **{
        f"offset_{ink}_{a}": (1.0, 0.5, "um") for ink in ("cyan", "magenta", "yellow") for a in "xy"
    },
    **{f"raggedness_{a}": (4.0, 0.2, "um") for a in "xy"},
    **{f"passes_apart_{a}": (2.0, 0.4, "um") for a in "xy"},
    **{f"mottle_{t}": (3e-3, 2e-4, "density") for t in ("grey60", "grey25", "light_cyan")},
    **{f"banding_{t}": (0.2, 0.02, "L* rms") for t in ("grey60", "grey25", "light_cyan")},
    "line_width_x": (80.0, 1.0, "um"),
}
MISALIGNED = {"offset_cyan_x": 21.0, "grain": 0.58, "detail_x": 5.6}
LOST_NOZZLE = {"banding_light_cyan": 0.5, "mottle_light_cyan": 5e-3}


def add_month(history, month, seed, moved=None, prints=3):
    rng = np.random.default_rng([seed, month])
    shots = []
    for i in range(prints):
        numbers = {}
        for name, (mean, sd, unit) in SOUND.items():
            value = (moved or {}).get(name, mean) + sd * rng.standard_normal()
            numbers[name] = Number(value, value - sd, value + sd, unit)
        name = f"{seed}-{month}-{i}"
        shots.append(Measurement(f"{name}.tif", name, f"run {i}", i, 600.0, True, (), (), numbers))
    history.add(shots, printed_on=date(2026, month, 5), **NAMES)


def story(path, seed=1, then=None, months=6):
    history = History(path)
    add_month(history, 1, seed, MISALIGNED)
    history.add_event("alignment", printer="desk", happened_on="2026-01-20")
    for month in range(2, months):
        add_month(history, month, seed)
    add_month(history, months, seed, then)
    return history


def test_misaligned_then_aligned_then_misaligned(tmp_path):
    found = story(tmp_path / "h.sqlite", then=MISALIGNED).verdict()
    assert (found.due, found.remedy, found.since) == (True, Remedy.ALIGNMENT, date(2026, 6, 5))
    assert set(found.because) == set(MISALIGNED)
    assert found.inks == ("cyan",)
    assert found.p_value < 1e-6
    assert next(iter(found.numbers)) in MISALIGNED
    baseline = found.numbers["offset_cyan_x"].baseline
    assert (baseline.first, baseline.last) == (date(2026, 2, 5), date(2026, 5, 5))
    assert found.costs["offset_cyan_x"].just_visible_um == pytest.approx(16.97, abs=0.01)
    assert found.costs["detail_x"].steps > 0


def test_aligned_and_unchanged_is_not_due(tmp_path):
    found = story(tmp_path / "h.sqlite", months=5).verdict()
    assert (found.due, found.because, found.remedy, found.since) == (False, (), None, None)
    assert "line_width_x" not in found.numbers


def test_the_terminal_names_numbers_by_their_titles(tmp_path):
    """All numbers, and one of them: no name that only a program knows."""
    history = story(tmp_path / "h.sqlite", then=MISALIGNED)
    for result in (history.verdict(), history.track("offset_cyan_x")):
        text = history_table(history_model(result))
        assert not [name for name in SOUND if "_" in name and name in text]
    assert "Cyan against black along x" in text
    assert "Detail along x" in history_table(history_model(history.verdict()))


def test_an_offset_that_is_seen_is_due_before_anything_was_aligned(tmp_path):
    history = History(tmp_path / "h.sqlite")
    add_month(history, 1, 1, MISALIGNED)
    found = history.verdict()
    assert (found.due, found.because, found.p_value) == (True, ("offset_cyan_x",), None)
    assert found.numbers["offset_cyan_x"].state is State.OUT_OF_LINE
    # an alignment that leaves it so far out leaves what there is to be had
    history.add_event("alignment", printer="desk", happened_on="2026-01-20")
    add_month(history, 2, 1, {"offset_cyan_x": 20.0})
    assert history.verdict().due is False


def test_an_offset_is_due_since_the_day_from_which_it_is_seen(tmp_path):
    history = History(tmp_path / "h.sqlite")
    for month, prints in ((1, 1), (2, 1), (3, 1)):
        add_month(history, month, 1, prints=prints)
    for month in (6, 7):
        add_month(history, month, 1, {"offset_cyan_x": 21.0})
    found = history.verdict()
    assert (found.due, found.since) == (True, date(2026, 6, 5))
    assert _visible_since(found.numbers["offset_cyan_x"]) == date(2026, 6, 5)


def test_one_sound_day_is_not_enough(tmp_path):
    history = History(tmp_path / "h.sqlite")
    add_month(history, 1, 1)
    found = history.verdict()
    assert (found.due, found.because, found.p_value) == (None, (), None)


def test_a_lost_nozzle_asks_for_cleaning_and_names_the_ink(tmp_path):
    found = story(tmp_path / "h.sqlite", then=LOST_NOZZLE).verdict()
    assert (found.due, found.remedy, found.inks) == (True, Remedy.CLEANING, ("cyan",))
    assert set(found.because) == set(LOST_NOZZLE)


def test_a_repair_that_did_not_help_is_named(tmp_path):
    history = story(tmp_path / "h.sqlite", then=MISALIGNED)
    history.add_event("alignment", printer="desk", happened_on="2026-06-20")
    add_month(history, 7, 1, MISALIGNED)
    found = history.verdict()
    assert (found.due, found.since) == (True, date(2026, 6, 5))
    assert found.tried.happened_on == date(2026, 6, 20)
    history.add_event("cleaning", printer="desk", happened_on="2026-07-20")
    add_month(history, 8, 1)
    assert history.verdict().due is False


def test_what_it_says_fits_the_json_and_each_sentence_is_short(tmp_path):
    history = story(tmp_path / "h.sqlite", then=MISALIGNED)
    content = json.loads(json.dumps(head_json(history.verdict()), allow_nan=False))
    assert content["due"] is True
    assert content["because"][0] == "offset_cyan_x"
    number = content["numbers"]["offset_cyan_x"]
    assert (number["verdict"], number["baseline_from"]) == ("worse", "2026-02-05")
    assert number["latest"] == pytest.approx(21, abs=1.5)
    for sentence in content["sentences"]:
        for part in sentence.replace("; ", ". ").split(". "):
            assert len(part.split()) <= 25


def test_a_baseline_by_hand_judges_january_against_spring(tmp_path):
    history = story(tmp_path / "h.sqlite", months=5)
    by_hand = history.verdict(baseline=("2026-01-05", "2026-01-05"))
    assert by_hand.due is False
    assert by_hand.numbers["offset_cyan_x"].baseline.n == 3
    tracked = history.track("offset_cyan_x", baseline=("2026-01-05", "2026-01-05"))
    assert tracked.state is State.BETTER


def test_one_number_is_judged_as_among_all(tmp_path):
    history = story(tmp_path / "h.sqlite", then=MISALIGNED)
    every, one = history.verdict().numbers["grain"], history.track("grain")
    assert replace(one, cautions=()) == replace(every, cautions=())
    assert history.track("line_width_x").state is State.STEADY


def test_an_event_of_a_printer_that_the_history_does_not_know_asks(tmp_path):
    history = story(tmp_path / "h.sqlite")
    with pytest.raises(InputError, match=r"printer dekc: not in the history: choose one of desk"):
        history.add_event("inks", printer="dekc", happened_on="2026-05-01")


def test_prints_that_tell_nothing_of_the_head_are_refused(tmp_path):
    history = History(tmp_path / "h.sqlite")
    m = Measurement(
        "a", "a", "a", 1, 600.0, True, (), (), {"dots_grey80": Number(1, 0, 2, "per mm^2")}
    )
    history.add(m, printed_on="2026-01-05", **NAMES)
    with pytest.raises(InputError, match="no number of these prints tells of the head"):
        history.verdict()


def test_a_history_of_the_second_form_keeps_all_rows_and_takes_new_events(tmp_path):
    path = tmp_path / "h.sqlite"
    history = story(path, then=MISALIGNED)
    with sqlite3.connect(path) as db:
        # as the second form had it
        db.executescript(
            """CREATE TABLE old (id INTEGER PRIMARY KEY,
                 printer INTEGER NOT NULL REFERENCES printers (id),
                 kind TEXT NOT NULL CHECK (kind IN ('alignment', 'move', 'service')),
                 happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
                 note TEXT NOT NULL, UNIQUE (printer, kind, happened_on, note)) STRICT;
               INSERT INTO old SELECT * FROM events; DROP TABLE events;
               ALTER TABLE old RENAME TO events;
               ALTER TABLE measurements DROP COLUMN simulated; PRAGMA user_version = 2;"""
        )
        tables = ("prints", "captures", "measurements", "results", "events")
        rows = {t: db.execute(f"SELECT * FROM {t}").fetchall() for t in tables}
    db.close()
    assert history.verdict().due is True
    history.add_event("inks", printer="desk", happened_on="2026-06-06")
    with sqlite3.connect(path) as db:
        for table, before in rows.items():
            after = db.execute(f"SELECT * FROM {table}").fetchall()
            # columns of later forms stand behind those of this one
            assert [row[: len(old)] for row, old in zip(after, before, strict=False)] == before
    db.close()


def test_sentences_name_the_number_by_its_title(tmp_path):
    found = story(tmp_path / "h.sqlite", then=MISALIGNED).verdict()
    text = " ".join(head_sentences(found))
    assert "Cyan against black along x" in text
    assert "offset_cyan_x" not in text
    assert all(caution_text(c) for c in found.cautions)
