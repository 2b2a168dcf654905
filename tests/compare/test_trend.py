"""Trends of simulated prints and the advice they give."""

import json
from datetime import date, timedelta

import numpy as np
import pytest

from dotloupe.compare.history.trend import Event, Point, trend
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.trend import advice_sentence

FIRST = date(2026, 1, 5)


def prints(values, first=FIRST, every=7, error=0.005, start=1):
    return [
        Point(first + timedelta(days=every * i), f"p{start + i}", start + i, v, error, 1,
              (f"hash{start + i}",), ("0.1.0",))
        for i, v in enumerate(values)
    ]  # fmt: skip


def chart(points, events=(), criterion="grain", **more):
    return trend(
        points, list(events), criterion=criterion, unit="L* rms", printer="the desktop printer",
        mode="fast", paper="lustre", **more,
    )  # fmt: skip


def steady(n, rng, mean=0.80, sd=0.02):
    return list(mean + sd * rng.standard_normal(n))


def test_within_limits_nothing_to_do():
    t = chart(prints(steady(16, np.random.default_rng(1))))
    assert t.outside == ()
    assert advice_sentence(t) == (
        "Grain in the fast mode has kept within its limits since 5 January: nothing to do."
    )
    assert json.loads(json.dumps(t.to_dict()))["points"][0]["printed_on"] == "2026-01-05"


def test_left_limits_names_the_day_and_the_run():
    values = [*steady(10, np.random.default_rng(2)), 1.1, 1.12, 1.15]
    t = chart(prints(values))
    assert t.left_since == 10
    assert t.outside[-3:] == (10, 11, 12)
    assert advice_sentence(t) == (
        "Grain in the fast mode has left its limits since 16 March: align the head, "
        "then print run 13 again."
    )


def test_one_print_outside_is_repeated_first():
    t = chart(prints([*steady(12, np.random.default_rng(3)), 1.2]))
    assert "left its limits with the last print" in advice_sentence(t)
    assert "print run 13 once more" in advice_sentence(t)


def test_an_alignment_that_did_not_help_is_said():
    values = [*steady(10, np.random.default_rng(4)), 1.1, 1.12, 1.15, 1.13]
    points = prints(values)
    aligned = Event("alignment", points[12].printed_on)
    t = chart(points, [aligned], baseline=(FIRST, points[9].printed_on))
    assert "the alignment of 30 March did not bring it back" in advice_sentence(t)


def test_better_than_the_limits_is_a_new_baseline():
    t = chart(prints([*steady(10, np.random.default_rng(5)), 0.5, 0.51, 0.49]))
    assert "better than its limits since 16 March" in advice_sentence(t)


def test_direction_of_detail_is_the_other_way():
    points = prints([*steady(10, np.random.default_rng(6), 4, 0.05), 3.0, 3.1, 2.9])
    assert "align the head" in advice_sentence(chart(points, criterion="detail_x"))
    assert "look for what changed" in advice_sentence(chart(points, criterion="mottle_4"))


def test_before_and_after_one_alignment():
    points = prints([0.95, 0.97, 0.96, 0.79, 0.80, 0.81])
    t = chart(points, [Event("alignment", points[3].printed_on, "after the move")])
    (step,) = t.event_steps
    assert (step.n_before, step.n_after) == (3, 3)
    assert step.better is True
    assert step.step.percent == pytest.approx(100 * (0.80 / 0.96 - 1))
    assert advice_sentence(t).startswith(
        "The alignment of 26 January lowered grain in the fast mode by 17 %"
    )


def test_before_and_after_an_alignment_that_changed_nothing():
    points = prints([0.95, 0.97, 0.96, 0.96, 0.95, 0.97])
    t = chart(points, [Event("alignment", points[3].printed_on)])
    assert t.event_steps[0].better is None
    assert advice_sentence(t).endswith("nothing to do.")


def test_two_prints_each_side_still_say_something():
    points = prints([0.95, 0.97, 0.79, 0.80])
    t = chart(points, [Event("alignment", points[2].printed_on)])
    assert t.event_steps[0].n_before == 2
    assert advice_sentence(t).endswith(".")


def test_drift_for_the_worse_is_told_before_the_limits_are_left():
    rng = np.random.default_rng(7)
    values = np.linspace(0.80, 0.86, 20) + 0.012 * rng.standard_normal(20)
    t = chart(prints(values), baseline=(FIRST, FIRST + timedelta(days=60)))
    assert t.left_since is None
    assert "drifting for the worse" in advice_sentence(t)
    # 0.06 over 19 weeks
    assert t.drift.low < 0.06 / 133 * 30 < t.drift.high


def test_step_for_the_worse_is_told_with_its_day():
    rng = np.random.default_rng(8)
    values = [*steady(12, rng, sd=0.01), *steady(8, rng, mean=0.83, sd=0.01)]
    t = chart(prints(values), baseline=(FIRST, FIRST + timedelta(days=50)))
    assert t.change.index == 12
    if t.left_since is None:
        assert "step for the worse on 30 March" in advice_sentence(t)


def test_too_few_prints_ask_for_more():
    t = chart(prints([0.8, 0.81]))
    assert t.limits is None
    assert advice_sentence(t) == (
        "Grain in the fast mode has no limits yet: add one more print before anything is changed."
    )


def test_versions_that_differ_are_cautioned():
    points = prints(steady(5, np.random.default_rng(9)))
    old = Point(*[*list(vars(points[0]).values())[:-1], ("0.0.9",)])
    assert any(
        "versions 0.0.9, 0.1.0" in c for c in caution_texts(chart([old, *points[1:]]).cautions)
    )


def test_day_has_its_year_where_the_history_spans_several():
    t = chart(prints([*steady(12, np.random.default_rng(10)), 1.2, 1.2], every=60))
    assert f"{t.points[12].printed_on.year}" in advice_sentence(t)


def test_false_alarms_are_rare():
    rng = np.random.default_rng(11)
    alarms = 0
    for _ in range(100):
        t = chart(prints(steady(16, rng)))
        alarms += "nothing to do" not in advice_sentence(t) and "better" not in advice_sentence(t)
    print(f"advice to act on {alarms} of 100 series where nothing happened")
    # step and drift at 5 % each, for the worse only, and eight later prints at 0.27 %
    assert alarms <= 14
