"""Trends of simulated prints and the advice they give."""

import json
from datetime import date, timedelta

import numpy as np
import pytest

from dotloupe.compare.cautions import SeveralVersions
from dotloupe.compare.history.course import State
from dotloupe.compare.history.events import Event
from dotloupe.compare.history.series import Point
from dotloupe.compare.history.trend import trend
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.trend import advice_sentence

FIRST = date(2026, 1, 5)


def prints(values, first=FIRST, every=30, error=0.005, a_visit=3):
    return [
        Point(first + timedelta(days=every * (i // a_visit)), f"p{i + 1}", i + 1, v, error, 1,
              (f"hash{i + 1}",), ("0.1.0",))
        for i, v in enumerate(values)
    ]  # fmt: skip


def chart(points, events=(), criterion="grain", **more):
    return trend(
        points, list(events), criterion=criterion, unit="L* rms", printer="the desktop printer",
        mode="fast", paper="lustre", **more,
    )  # fmt: skip


def steady(n, rng, mean=0.80, sd=0.02):
    return list(mean + sd * rng.standard_normal(n))


def test_unchanged_numbers_are_steady():
    t = chart(prints(steady(18, np.random.default_rng(1))))
    assert (t.state, t.outside, t.since) == (State.STEADY, (), None)
    assert advice_sentence(t).endswith("nothing to do.")
    assert json.loads(json.dumps(t.to_dict()))["points"][0]["printed_on"] == "2026-01-05"
    assert t.baseline.n == 15


def test_a_shift_names_its_first_visit_and_is_kept_out_of_the_baseline():
    values = [*steady(12, np.random.default_rng(2)), *steady(6, np.random.default_rng(9), 1.1)]
    t = chart(prints(values))
    assert (t.state, t.since) == (State.WORSE, FIRST + timedelta(days=120))
    assert t.outside == (12, 13, 14, 15, 16, 17)
    assert (t.baseline.n, t.baseline.last) == (12, FIRST + timedelta(days=90))
    assert t.change.percent_low < 100 * (1.1 / 0.8 - 1) < t.change.percent_high
    assert "since 5 May" in advice_sentence(t)


def test_a_shift_that_went_by_itself_is_over():
    rng = np.random.default_rng(2)
    t = chart(prints([*steady(12, rng), *steady(3, rng, 1.1), *steady(3, rng)]))
    assert (t.state, t.outside) == (State.STEADY, (12, 13, 14))


def test_the_state_after_an_alignment_is_the_new_baseline():
    rng = np.random.default_rng(3)
    values = [*steady(3, rng, 1.1), *steady(12, rng, 0.8), *steady(3, rng, 1.0)]
    aligned = Event("alignment", FIRST + timedelta(days=15))
    t = chart(prints(values), [aligned])
    assert (t.state, t.since) == (State.WORSE, FIRST + timedelta(days=150))
    assert [b.n for b in t.baselines] == [3, 12]
    assert t.baseline.first == FIRST + timedelta(days=30)
    (step,) = t.event_steps
    # the later shift is none of the alignment's
    assert (step.better, step.n_before, step.n_after) == (True, 3, 12)


def test_an_alignment_that_made_it_worse_is_no_baseline():
    rng = np.random.default_rng(4)
    values = [*steady(12, rng), *steady(6, rng, 1.0)]
    t = chart(prints(values), [Event("alignment", FIRST + timedelta(days=110))])
    assert (t.state, t.baseline.n) == (State.WORSE, 12)
    assert t.event_steps[0].better is False


def test_an_alignment_that_changed_nothing_adds_to_the_baseline():
    values = np.tile([0.79, 0.80, 0.81], 6)
    t = chart(prints(values), [Event("alignment", FIRST + timedelta(days=70))])
    assert (t.state, t.baseline.n) == (State.STEADY, 15)
    assert t.event_steps[0].better is None


def test_a_move_leaves_the_baseline():
    rng = np.random.default_rng(6)
    values = [*steady(9, rng), *steady(3, rng, 1.0)]
    t = chart(prints(values), [Event("move", FIRST + timedelta(days=80))])
    assert (t.state, t.baseline.n) == (State.WORSE, 9)


@pytest.mark.parametrize(("criterion", "day"), [("grain", 60), ("offset_cyan_x", 0)])
def test_new_inks_begin_a_baseline_of_tones_and_not_of_places(criterion, day):
    rng = np.random.default_rng(7)
    t = chart(prints(steady(12, rng)), [Event("inks", FIRST + timedelta(days=50))], criterion)
    assert t.baseline.first == FIRST + timedelta(days=day)


def test_better_by_itself_is_a_new_baseline():
    rng = np.random.default_rng(8)
    t = chart(prints([*steady(9, rng), *steady(6, rng, 0.5)]))
    assert (t.state, t.since) == (State.BETTER, FIRST + timedelta(days=90))
    assert t.baselines[-1].first == FIRST + timedelta(days=90)


def test_direction_of_detail_is_the_other_way_and_an_offset_is_worse_far_from_zero():
    rng = np.random.default_rng(9)
    falls = [*steady(12, rng, 4, 0.05), *steady(3, rng, 3.0, 0.05)]
    assert chart(prints(falls), criterion="detail_x").state is State.WORSE
    assert chart(prints(falls), criterion="offset_cyan_x").state is State.BETTER
    assert chart(prints(falls), criterion="unheard_of").state is State.CHANGED
    away = [*steady(12, rng, -1, 0.5), *steady(3, rng, -9, 0.5)]
    assert chart(prints(away), criterion="offset_cyan_x").state is State.WORSE


def test_a_drift_is_found_and_dated_before_the_visit_that_shows_it():
    rng = np.random.default_rng(10)
    drift = np.repeat(0.006 * np.arange(1, 9), 3)
    values = np.concatenate([steady(18, rng, sd=0.01), 0.8 + drift + 0.01 * rng.normal(size=24)])
    t = chart(prints(values, error=0.001))
    assert t.state is State.WORSE
    assert t.since < t.points[-1].printed_on


def test_a_baseline_by_hand_is_kept_through_events():
    rng = np.random.default_rng(11)
    values = [*steady(6, rng, 1.1), *steady(9, rng, 0.8)]
    points = prints(values)
    days = (points[6].printed_on, points[8].printed_on)
    t = chart(points, [Event("alignment", points[9].printed_on)], baseline=days)
    assert (t.state, t.baseline.n, t.baseline.first) == (State.STEADY, 3, days[0])
    old = chart(points, baseline=(FIRST, FIRST))
    assert (old.baseline.n, old.baseline.first) == (3, FIRST)
    empty = chart(points, baseline=(date(2020, 1, 1), date(2020, 1, 2)))
    assert any("no print falls" in c for c in caution_texts(empty.cautions))


def test_one_day_has_nothing_to_compare_with():
    t = chart(prints([0.8, 0.81, 0.82]))
    assert (t.state, t.change, t.baseline) == (State.NO_BASELINE, None, None)
    assert advice_sentence(t).startswith("Visible grain in “fast” mode has nothing to be compared")


def test_single_prints_a_visit_are_compared_once_there_are_three():
    values = [0.80, 0.81, 0.80, 0.79, 0.80, 0.81, 0.80, 0.79, 1.5]
    assert chart(prints(values, a_visit=1)).state is State.WORSE
    assert chart(prints(values[:2], a_visit=1)).state is State.NO_BASELINE


def test_versions_that_differ_are_cautioned():
    points = prints(steady(6, np.random.default_rng(9)))
    old = Point(*[*list(vars(points[0]).values())[:-1], ("0.0.9",)])
    assert SeveralVersions(("0.0.9", "0.1.0")) in chart([old, *points[1:]]).cautions


def test_day_has_its_year_where_the_history_spans_several():
    rng = np.random.default_rng(10)
    t = chart(prints([*steady(12, rng), *steady(3, rng, 1.2)], every=100))
    assert f"{t.since.year}" in advice_sentence(t)


def test_false_alarms_of_a_number_by_itself_are_rare():
    rng = np.random.default_rng(11)
    alarms = sum(bool(chart(prints(steady(45, rng))).outside) for _ in range(100))
    print(f"a change was found in {alarms} of 100 series of 15 visits where nothing happened")
    # 5 % a year of twelve visits; 12 is three standard errors more
    assert alarms <= 12
