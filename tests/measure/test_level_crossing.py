"""Where curves cross a level."""

import numpy as np
import pytest

from dotloupe.measure.level_crossing import crossing_between, falls_below, last_above

X = np.array([1.0, 2.0, 4.0, 8.0])


def test_a_straight_fall_is_met_where_it_is():
    assert falls_below(X, 10 - X, 7.0) == pytest.approx(3.0)
    assert last_above(X, 10 - X, 7.0) == pytest.approx(3.0)


def test_each_curve_has_its_own_level():
    found = falls_below(X, np.stack([10 - X, 20 - 2 * X]), np.array([7.0, 10.0]))
    assert found == pytest.approx([3.0, 5.0])


def test_over_the_logarithm_of_the_position():
    assert falls_below(X, -np.log(X), -np.log(3.0), geometric=True) == pytest.approx(3.0)
    assert last_above(X, -np.log(X), -np.log(3.0), geometric=True) == pytest.approx(3.0)


def test_a_single_sample_below_does_not_count_where_two_are_asked_for():
    curve = np.array([1.0, 0.2, 1.0, 0.0])
    assert falls_below(X, curve, 0.5) == pytest.approx(1.625)
    assert falls_below(X, curve, 0.5, samples=2) == pytest.approx(6.0)
    assert last_above(X, curve, 0.5) == pytest.approx(6.0)


def test_curves_that_never_cross():
    assert np.isnan(falls_below(X, X, 0.5))
    assert falls_below(X, X, 9.0) == 1.0
    assert np.isnan(last_above(X, X, 9.0))
    assert last_above(X, X, 0.5) == 8.0


def test_one_sample_on_both_sides_is_its_own_place():
    at = np.array([0, 2])
    assert crossing_between(X, np.stack([X, X]), at, at, 3.0) == pytest.approx([1.0, 4.0])
