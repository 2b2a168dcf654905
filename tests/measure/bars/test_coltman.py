"""Coltman's series on a Gaussian, whose square-wave contrast and modulation are closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.measure.bars.coltman_series import coltman, coltman_coefficients

BLUR_MM = 0.02


def modulation(frequency):
    return np.exp(-2 * (np.pi * BLUR_MM * np.asarray(frequency)) ** 2)


def contrast(frequency):
    """C(f) = 4/pi [M(f) - M(3f)/3 + M(5f)/5 - ...] (Coltman 1954, from memory)."""
    k = np.arange(1, 2001, 2)
    sign = (-1.0) ** ((k - 1) // 2)
    return (4 / np.pi * sign / k * modulation(np.multiply.outer(frequency, k))).sum(axis=-1)


def test_coefficients_are_those_of_the_published_series(outside_check):
    """Coltman 1954 (from memory): +1 +1/3 -1/5 +1/7 +1/11 -1/13 -1/15 ..., none at 9."""
    order, coefficient = coltman_coefficients(15)
    assert order.tolist() == [1, 3, 5, 7, 11, 13, 15]
    expected = [1, 1 / 3, -1 / 5, 1 / 7, 1 / 11, -1 / 13, -1 / 15]
    claim = "coefficients of the series from square-wave contrast to modulation"
    outside_check(claim, "Coltman 1954", expected, coefficient, abs=1e-12, memory=True)


def test_series_gives_the_gaussian_back(outside_check):
    f = 2 ** (np.arange(0, 64) / 12)
    found = coltman(f, contrast(f))
    known = f < f[-1] / 3
    # Groups 6 % apart: the line between them leaves the curve by 3e-4 at most.
    claim = "modulation of a Gaussian from its square-wave contrast, groups 6 % apart"
    given, wanted = found.modulation[known], modulation(f)[known]
    outside_check(claim, "closed form, Gaussian transform", wanted, given, abs=5e-4)


def test_series_of_the_patch_gives_the_gaussian_back_within_one_percent():
    f = 2 ** (np.arange(6, 27) / 6)
    found = coltman(f, contrast(f))
    assert np.abs(found.modulation - modulation(f)).max() < 0.01
    assert (found.modulation_low - 1e-3 <= modulation(f)).all()
    assert (modulation(f) <= found.modulation_high + 1e-3).all()


def test_errors_are_carried_along():
    f = 2 ** (np.arange(6, 27) / 6)
    found = coltman(f, contrast(f), np.full(21, 0.02))
    # One group alone, above a third of the highest frequency: pi/4 of its own error.
    assert (found.modulation_high - found.modulation)[-1] > np.pi / 4 * 0.02


def test_what_cannot_be_a_series_is_refused():
    with pytest.raises(RegionError, match="rise"):
        coltman([4, 3, 2], [0.1, 0.2, 0.3])
    with pytest.raises(RegionError, match="at least two"):
        coltman([4], [0.1])
    with pytest.raises(RegionError, match="numbers"):
        coltman([2, 3], [np.nan, 0.1])
