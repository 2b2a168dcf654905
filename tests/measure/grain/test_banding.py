"""Periodic noise of known period in simulated grain."""

from __future__ import annotations

import numpy as np
import pytest

from dotloupe.measure.bars.harmonics import _peak
from dotloupe.measure.grain.banding import find_banding
from dotloupe.measure.grain.noise_spectrum import detrended
from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.wave import Wave, coarser, fit_waves, on_fine_grid

PIXELS_PER_MM = 40.0


def banded(period_mm, angle_deg, seed, side_mm=12.7, amplitude=0.002, deviation=0.02):
    n = round(side_mm * PIXELS_PER_MM)
    y, x = np.mgrid[:n, :n] / PIXELS_PER_MM
    along = x * np.cos(np.radians(angle_deg)) + y * np.sin(np.radians(angle_deg))
    noise = deviation * np.random.default_rng(seed).standard_normal((n, n))
    return 0.5 + noise + amplitude * np.cos(2 * np.pi * along / period_mm + seed)


@pytest.mark.parametrize(
    ("period_mm", "angle_deg", "direction"),
    [(5, 0, "x"), (2.4, 90, "y"), (1.27, 90.7, "y"), (0.5, -1, "x"), (0.2, 90, "y")],
)
def test_period_strength_and_direction(period_mm, angle_deg, direction):
    # A fifth of the grain's deviation. Least possible errors (Rife and Boorstyn 1974) are 0.3 % of
    # the longest period and 1.4 % of the amplitude.
    field = banded(period_mm, angle_deg, seed=1, amplitude=0.004)
    found = find_banding(detrended(field), PIXELS_PER_MM)
    assert len(found.bands) == 1
    band = found.bands[0]
    assert band.period_mm == pytest.approx(period_mm, rel=0.01)
    assert band.amplitude == pytest.approx(0.004, rel=0.06)
    assert band.direction == direction
    assert band.angle_deg == pytest.approx((angle_deg + 45) % 90 - 45, abs=0.5)


def test_intervals_hold_the_truth():
    held_period, held_strength = 0, 0
    for seed in range(40):
        field = banded(0.8, 0, seed, side_mm=4, amplitude=0.006)
        band = find_banding(detrended(field), PIXELS_PER_MM).bands[0]
        held_period += band.period_interval[0] < 0.8 < band.period_interval[1]
        low, high = band.strength_interval
        held_strength += low < 0.006 / np.sqrt(2) < high
    # 95 % of 40 is 38; four standard errors (0.034) below lies 32.6
    assert held_period >= 33
    assert held_strength >= 33


def test_grain_alone_has_no_banding():
    alarms = 0
    for seed in range(60):
        field = banded(1.0, 0, seed, side_mm=2.6, amplitude=0)
        alarms += len(find_banding(detrended(field), PIXELS_PER_MM).bands) > 0
    # 1 in 100 is allowed for; four in 60 has a chance of 0.3 %
    assert alarms <= 3


def test_smooth_unevenness_is_no_banding():
    n = 100
    y, x = np.mgrid[:n, :n] / n - 0.5
    rng = np.random.default_rng(2)
    field = 0.02 * (x**2 + 0.5 * x * y - y**3) + 0.002 * rng.standard_normal((n, n))
    assert find_banding(detrended(field), PIXELS_PER_MM).bands == ()


def test_two_bands_are_told_apart():
    field = banded(1.1, 0, seed=3) + banded(0.42, 90, seed=4) - 0.5
    found = find_banding(detrended(field), PIXELS_PER_MM)
    assert {(round(b.period_mm, 2), b.direction) for b in found.bands} == {(1.1, "x"), (0.42, "y")}


def test_grain_with_and_without_its_banding():
    # Banding of twice the grain's graininess: it counts in graininess, and can be left out.
    plain = grain(banded(0.5, 0, seed=5, side_mm=6.35, amplitude=0, deviation=0.01), PIXELS_PER_MM)
    amplitude = 2 * plain.graininess * np.sqrt(2) * 0.5 / 0.4343
    field = banded(0.5, 0, seed=5, side_mm=6.35, amplitude=amplitude, deviation=0.01)
    both = grain(field, PIXELS_PER_MM)
    assert both.graininess_without_banding == pytest.approx(plain.graininess, rel=0.01)
    # the 42.3 um cell passes 0.9945 at 2 cycles/mm
    assert both.graininess == pytest.approx(np.hypot(1, 2 * 0.9945) * plain.graininess, rel=0.01)
    assert both.banding == pytest.approx(both.bands[0].strength)
    low, high = plain.banding_interval
    assert plain.banding == 0
    assert low == 0 < high < both.banding


def test_wave_on_averaged_pixels_is_the_wave_on_the_pixels():
    wave = Wave((0.031, -0.012), 0.3, -0.2, 1.0)
    field = wave.drawn((120, 160))
    averaged = Wave((0.031 * 4, -0.012 * 4), 0.0, 0.0, 1.0)
    fitted = on_fine_grid(fit_waves(coarser(field, 4), [averaged])[0], 4)
    np.testing.assert_allclose(fitted.frequency, wave.frequency, atol=1e-6)
    np.testing.assert_allclose([fitted.cosine, fitted.sine], [0.3, -0.2], atol=1e-4)


def test_a_peak_beyond_its_neighbours_stays_by_them():
    """A flat parabola has its vertex far away: 9.5 steps for 0, 1, 1.9."""
    position = np.array([0.0, 0.1, 0.2])
    assert _peak(position, np.array([0.0, 1.0, 1.9])) == pytest.approx(0.2)
    assert _peak(position, np.array([1.9, 1.0, 0.0])) == pytest.approx(0.0)


def test_the_foot_of_a_peak_beyond_the_finest_band_is_none():
    """A screen of 150 lines/inch, turned by 45 degrees, has its second order at 8.35 cycles/mm."""
    y, x = np.mgrid[:185, :185] / 60.0
    order = 150 / 25.4 * 2**0.5
    field = 0.1 * (np.cos(2 * np.pi * order * x) + np.cos(2 * np.pi * order * y))
    field += np.random.default_rng(3).normal(0, 0.003, x.shape)
    found = find_banding(detrended(field), 60.0)
    assert found.bands == ()
    assert found.strength_interval[1] < 0.01
