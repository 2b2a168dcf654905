"""What intervals were made of: standard errors and degrees of freedom."""

import numpy as np
import pytest
from scipy.stats import ttest_ind

from dotloupe.measure.jackknife import jackknife, left_out
from dotloupe.measure.uncertainty import Uncertainty, added, normal_uncertainty, student_quantile


def test_the_jackknife_of_a_mean_is_its_standard_error():
    values = np.random.default_rng(4).normal(size=12)
    found = jackknife(left_out(values))
    assert found.standard_error == pytest.approx(values.std(ddof=1) / np.sqrt(12), rel=1e-12)
    assert found.degrees == 11


def test_half_width_is_students_factor_times_the_error():
    assert Uncertainty(2.0, 8).half_width == pytest.approx(2 * 2.306004, rel=1e-6)
    assert Uncertainty(2.0).half_width == pytest.approx(2 * 1.959964, rel=1e-6)
    assert Uncertainty(2.0, 8).scaled(3.0) == Uncertainty(6.0, 8)
    assert student_quantile(np.array([1.0, 8.0])).shape == (2,)


def test_an_open_interval_has_no_error():
    assert normal_uncertainty((1.0, np.inf)) is None
    assert normal_uncertainty((1.0, 3.0)).half_width == pytest.approx(1.0, rel=1e-6)


def test_a_sum_has_the_degrees_of_welchs_test():
    """The difference of two means, each known by its own repeats, as SciPy tests it."""
    rng = np.random.default_rng(5)
    one, other = rng.normal(0, 1, 6), rng.normal(0, 3, 9)
    means = [Uncertainty(v.std(ddof=1) / len(v) ** 0.5, len(v) - 1) for v in (one, other)]
    found, welch = added(means), ttest_ind(one, other, equal_var=False)
    assert found.degrees == pytest.approx(welch.df, rel=1e-12)
    assert found.standard_error == pytest.approx((one.mean() - other.mean()) / welch.statistic)
    assert added([Uncertainty(3.0), Uncertainty(4.0)]) == Uncertainty(5.0)
    assert added([]).half_width == 0
