"""Amplitude and phase of gratings, the eye and the fit that never rises against closed forms."""

import numpy as np
import pytest
from measure.contrast.coloured_grain import CELL_MM, places
from scipy.optimize import isotonic_regression

from dotloupe.errors import RegionError
from dotloupe.measure import barten_pupil_mm, barten_sensitivity
from dotloupe.measure.bars import coltman
from dotloupe.measure.contrast import (
    CellImage,
    fit_grating,
    least_modulation_seen,
    never_rising,
)

PER_MM = 64.0
FREQUENCIES = (2.0, 2.83, 4.0, 5.66, 8.0, 11.31)
SIGMA_MM = 0.02
SHIFT_MM = 0.004


def blurred_sine(frequency, turn_deg):
    """A sine of amplitude 0.1 through a Gaussian and the square pixel, 4 um off its place."""
    along, across = places(CELL_MM, turn_deg, PER_MM)
    kept = np.exp(-2 * (np.pi * SIGMA_MM * frequency) ** 2)
    cos, sin = np.cos(np.deg2rad(turn_deg)), np.sin(np.deg2rad(turn_deg))
    kept *= np.sinc(frequency * cos / PER_MM) * np.sinc(frequency * sin / PER_MM)
    wave = 0.1 * kept * np.sin(2 * np.pi * frequency * (along - SHIFT_MM))
    return CellImage(0.4 + 0.03 * along - 0.02 * across + wave, along, across), kept


@pytest.mark.parametrize("turn_deg", [0.0, 2.5])
def test_amplitude_and_phase_of_a_sine_through_gaussian_and_pixel(turn_deg, outside_check):
    """The Fourier transforms of Gaussian and box (derived); a slope of light is added."""
    kept, amplitudes, phases = [], [], []
    for frequency in FREQUENCIES:
        cell, passed = blurred_sine(frequency, turn_deg)
        fit = fit_grating(cell, frequency, size_mm=CELL_MM)
        kept.append(0.1 * passed)
        amplitudes.append(np.hypot(fit.in_phase, fit.quadrature))
        phases.append(np.degrees(np.arctan2(fit.quadrature, fit.in_phase)))
    source = "sine through a Gaussian and a square pixel (closed form)"
    outside_check(
        f"amplitude of gratings turned by {turn_deg:g} deg", source, kept, amplitudes, rel=0.01
    )
    lag = [-360 * f * SHIFT_MM for f in FREQUENCIES]
    claim = f"phase in degrees of gratings turned by {turn_deg:g} deg"
    outside_check(claim, source, lag, phases, abs=2.0)


def test_bars_are_the_square_waves_series(outside_check):
    """A square wave's sine of its own frequency has 4/pi of it, the one of 3 f a third of that.

    Through a Gaussian, over 8 mm: in a cell of two periods the slope takes 2 % of the first for
    the third's. What Coltman's series makes of the bars' contrast is the sine's.
    """
    size_mm = (8.0, 1.0)
    along, across = places(size_mm, 0.0, PER_MM)
    order = np.arange(1, 40, 2)
    source = "series of the square wave (closed form)"
    for frequency in (2.0, 4.0):
        orders = order * frequency
        passed = np.exp(-2 * (np.pi * SIGMA_MM * orders) ** 2)
        terms = 4 / np.pi * passed / order
        wave = 0.4 + 0.1 * np.tensordot(terms, np.sin(2 * np.pi * orders[:, None, None] * along), 1)
        cell = CellImage(wave, along, across)
        found = [fit_grating(cell, f, size_mm=size_mm).in_phase for f in orders[:2]]
        claim = f"sines of a square wave of {frequency:g} lp/mm"
        outside_check(claim, source, 0.1 * terms[:2], found, rel=0.01)
    fine = np.geomspace(0.25, 40, 400)
    odd = order[:, None] * fine
    contrast = (
        4
        / np.pi
        * np.sum(
            np.where(order % 4 == 1, 1, -1)[:, None]
            * np.exp(-2 * (np.pi * SIGMA_MM * odd) ** 2)
            / order[:, None],
            axis=0,
        )
    )
    sine = coltman(fine, contrast)
    ours = []
    for frequency in FREQUENCIES:
        cell, _ = blurred_sine(frequency, 0.0)
        fit = fit_grating(cell, frequency, size_mm=CELL_MM)
        ours.append(np.hypot(fit.in_phase, fit.quadrature) / 0.1 / np.sinc(frequency / PER_MM))
    by_bars = np.interp(FREQUENCIES, sine.frequency, sine.modulation)
    outside_check(
        "modulation of gratings, against bars", "Coltman 1954", by_bars, ours, rel=0.01, memory=True
    )


def test_the_eye_without_grain_is_bartens(outside_check):
    """And with much of it, k times the contrast of the noise in the area summed over (Barten)."""
    frequency, distance = np.array([1.0, 2.0, 4.0]), 350.0
    degree_mm = distance * np.pi / 180
    u, field = frequency * degree_mm, 10 / degree_mm
    luminance = 140 * 0.25
    pupil = barten_pupil_mm(luminance, np.degrees(2 * np.arctan(50 / distance)))
    bare = 1 / barten_sensitivity(u, luminance=luminance, field_deg=field, pupil_mm=pupil)

    def seen(power):
        return least_modulation_seen(
            frequency,
            mean_reflectance=0.25,
            grain_power_mm2=np.full(3, power),
            viewing_distance_mm=distance,
        )

    source = "Barten 1999, masked by noise"
    outside_check("least modulation seen without grain", source, bare, seen(0.0), rel=1e-6)
    area = 1 / (1 / field**2 + 1 / 12**2 + (u / 15) ** 2)
    masked = 3 * np.sqrt(2 * 1.0 / degree_mm**2 / area)
    outside_check(
        "least modulation seen in grain", source, masked, seen(1.0), rel=1e-3, memory=True
    )


def test_the_fit_that_never_rises_is_scipys(outside_check):
    rng = np.random.default_rng(1)
    rows = rng.standard_normal((200, 7)) - np.arange(7) / 3
    theirs = [isotonic_regression(row, increasing=False).x for row in rows]
    claim = "sequences that never rise"
    outside_check(claim, "scipy.optimize.isotonic_regression", theirs, never_rising(rows), abs=1e-9)


def test_too_few_pixels_are_refused():
    along, across = (p[::16, ::16] for p in places((4.0, 4.0)))
    with pytest.raises(RegionError, match="too few"):
        fit_grating(CellImage(np.zeros(along.shape), along, across), 4.0, size_mm=(4.0, 4.0))
