"""What intervals were made of: standard errors and degrees of freedom."""

import numpy as np
import pytest

from dotloupe.measure.jackknife import jackknife, left_out
from dotloupe.measure.uncertainty import Uncertainty, normal_uncertainty, student_quantile


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
