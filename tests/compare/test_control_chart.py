"""Limits of short baselines; tests for step and drift against SciPy."""

import numpy as np
import pytest
from scipy import stats

from dotloupe.compare.history.control_chart import (
    find_drift,
    find_step,
    short_baseline_limits,
)
from dotloupe.errors import InputError


def test_short_baselines_are_left_as_rarely_as_three_sigma():
    rng = np.random.default_rng(2)
    for n in (3, 5, 10):
        left = 0
        trials = 20_000
        baselines = rng.normal(0, 1, (trials, n))
        later = rng.normal(0, 1, trials)
        spread = baselines.std(axis=1, ddof=1)
        # the limits are linear in centre and spread: one call gives the factor of all
        one = short_baseline_limits(baselines[0])
        factor = (one.upper - one.centre) / spread[0]
        left = np.mean(np.abs(later - baselines.mean(axis=1)) > factor * spread)
        # 0.27 %, with a standard error of 0.037 %
        assert left == pytest.approx(0.0027, abs=4 * 0.00037)
    assert short_baseline_limits(rng.normal(0, 1, 5000)).upper == pytest.approx(3, abs=0.15)


def test_limits_are_never_tighter_than_the_measurement():
    limits = short_baseline_limits([1.0, 1.0, 1.0, 1.0], least_sigma=0.1)
    assert limits.sigma == 0.1


def test_too_few_values_are_refused():
    with pytest.raises(
        InputError, match=r"^control limits need three prints or more: print again$"
    ):
        short_baseline_limits([1.0, 2.0])


def test_drift_is_scipys_straight_line(outside_check):
    rng = np.random.default_rng(3)
    days = np.array([0, 3, 9, 20, 31, 45, 60, 61.0])
    values = 0.8 + 0.002 * days + rng.normal(0, 0.03, 8)
    drift = find_drift(days, values)
    line = stats.linregress(days, values)
    half = stats.t.ppf(0.975, 6) * line.stderr * 30
    for name, value, ours in (
        ("slope", 30 * line.slope, drift.per_30_days),
        ("chance", line.pvalue, drift.p_value),
        ("half interval", half, drift.high - drift.per_30_days),
    ):
        claim = f"{name} of a drift over eight prints"
        outside_check(claim, "SciPy, linregress", value, ours, rel=1e-6)


def test_step_is_found_where_it_was_planted():
    rng = np.random.default_rng(4)
    values = rng.normal(0.8, 0.02, 16)
    values[9:] += 0.1
    step = find_step(values)
    assert step.index == 9
    assert step.p_value < 0.01
    assert step.before == pytest.approx(values[:9].mean())
    assert step.after == pytest.approx(values[9:].mean())
    residual = values[:9].var() * 9 + values[9:].var() * 7
    assert step.residual == pytest.approx(residual)


def test_no_step_is_rarer_than_its_shuffles_can_tell():
    """None of 1999 shuffles as clear, the series itself counted: 1 in 2000."""
    assert find_step([0.0] * 8 + [1.0] * 8).p_value == pytest.approx(1 / 2000, rel=1e-12)


def test_steps_without_cause_are_rare():
    rng = np.random.default_rng(5)
    found = sum(find_step(rng.normal(0, 1, 12)).p_value < 0.05 for _ in range(200))
    # 10 expected at 5 %; 19 is three standard errors more
    assert found <= 19


def test_short_series_are_not_tested():
    assert find_step([1.0, 2, 3, 4, 5]) is None
    assert find_drift([0, 1, 2, 3, 4], [1.0, 2, 3, 4, 5]) is None
    assert find_drift([7] * 6, [1.0, 2, 3, 4, 5, 6]) is None
