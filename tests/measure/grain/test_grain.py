"""Grain of simulated tints of known spectrum."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.special import j1

from dotloupe.errors import RegionError
from dotloupe.measure.grain.tint_grain import Grain, grain
from dotloupe.measure.seeing import dooley_shaw_transfer, lightness_slope

PIXELS_PER_MM = 50.0


def white_tint(seed, side_mm=6.35, mean=0.5, deviation=0.02):
    n = round(side_mm * PIXELS_PER_MM)
    return mean + deviation * np.random.default_rng(seed).standard_normal((n, n))


def with_interval(result):
    for field in dataclasses.fields(result):
        if field.name.endswith("_interval"):
            yield getattr(result, field.name.removesuffix("_interval")), getattr(result, field.name)


def test_result_is_frozen_and_every_scalar_lies_in_its_interval():
    result = grain(white_tint(1), PIXELS_PER_MM)
    assert isinstance(result, Grain)
    with pytest.raises(dataclasses.FrozenInstanceError):
        result.mottle = 0.0
    pairs = list(with_interval(result))
    assert len(pairs) >= 8
    assert all(low <= value <= high for value, (low, high) in pairs)


def test_white_noise_scores_follow_from_its_power():
    # White noise of power W: derived by hand from the definition of each score. 12.7 mm over
    # three seeds leaves a random error under 1 % for all but mottle (52 degrees each: 6 %).
    power = 0.02**2 / PIXELS_PER_MM**2
    density = 0.4343 / 0.5
    results = [grain(white_tint(s, side_mm=12.7), PIXELS_PER_MM) for s in range(3)]
    f = np.linspace(0, 35, 20001)
    seen = np.trapezoid(2 * np.pi * f * dooley_shaw_transfer(f * 350 * np.pi / 180) ** 2, f)
    visual = float(lightness_slope(0.5)) * np.sqrt(power * seen)
    mottle = density * np.sqrt(power * np.pi * 0.4**2)
    # The apertures' outer lobes lie beyond the Nyquist frequency: only what is inside counts.
    axis = np.linspace(-25, 25, 1001)
    radius = np.hypot(axis[:, None], axis[None, :])
    x = np.pi * 0.048 * np.where(radius == 0, 1e-9, radius)
    circle = np.trapezoid(np.trapezoid((2 * j1(x) / x) ** 2, axis), axis)
    square = np.trapezoid(np.sinc(0.0423 * axis) ** 2, axis) ** 2
    expected = {
        "visual_graininess": visual,
        "rms_granularity": 1000 * density * np.sqrt(power * circle),
        "graininess": density * np.sqrt(power * square),
    }
    for name, value in expected.items():
        assert np.mean([getattr(r, name) for r in results]) == pytest.approx(value, rel=0.02)
    assert np.mean([r.mottle for r in results]) == pytest.approx(mottle, rel=0.12)


def test_two_shots_leave_camera_noise_out():
    print_ = white_tint(5)
    rng = np.random.default_rng(6)
    shots = [print_ + 0.03 * rng.standard_normal(print_.shape) for _ in range(2)]
    truth = grain(print_, PIXELS_PER_MM)
    got = grain(shots[0], PIXELS_PER_MM, second_shot=shots[1])
    alone = grain(shots[0], PIXELS_PER_MM)
    assert got.shots == 2
    # 1600 visible modes at noise power 2.25 times the print's: about 5 % random error
    assert got.visual_graininess == pytest.approx(truth.visual_graininess, rel=0.12)
    assert alone.visual_graininess > 1.5 * truth.visual_graininess


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda t: t[:60], "less than the 1.27 mm tile"),
        (lambda t: np.full_like(t, 0.5), "same value in every pixel"),
        (lambda t: np.minimum(t, 0.51), "clipped at the bright end"),
        (lambda t: np.maximum(t, 0.48), "clipped at the dark end"),
        (lambda t: np.where(np.arange(t.shape[1]) < 40, 0.8 * t, t), "not one even tint"),
        (lambda t: np.where(t > 0.53, np.nan, t), "missing pixels"),
        (lambda t: t.ravel(), "rows and columns"),
    ],
)
def test_regions_that_hold_no_even_tint_are_refused(spoil, reason):
    with pytest.raises(RegionError, match=reason):
        grain(spoil(white_tint(7)), PIXELS_PER_MM)


def test_uneven_light_dust_and_scattered_dots_are_no_edges():
    n = 130
    y, x = np.mgrid[:n, :n] / n
    tint = white_tint(12, side_mm=2.6)
    plain = grain(tint, PIXELS_PER_MM)
    # light that falls by a fifth across the tint is taken out as a plane
    sloped = grain(tint + 0.1 * (x - 0.5) + 0.04 * (y - 0.5), PIXELS_PER_MM)
    assert sloped.visual_graininess == pytest.approx(plain.visual_graininess, rel=0.01)
    dusty = tint.copy()
    dusty[40:44, 70:75] = 0.05
    assert grain(dusty, PIXELS_PER_MM).graininess > plain.graininess
    dots = np.ones((n, n))
    rng = np.random.default_rng(13)
    dots[rng.integers(0, n, 60), rng.integers(0, n, 60)] = 0.2
    assert grain(dots, PIXELS_PER_MM).mean_reflectance > 0.99


@pytest.mark.parametrize("where", ["side", "strip", "corner"])
def test_edges_of_low_contrast_are_seen_wherever_they_lie(where):
    tint = white_tint(14)
    n = tint.shape[0]
    y, x = np.mgrid[:n, :n] / n
    part = {"side": x + 0.05 * y < 0.4, "strip": y > 0.92, "corner": (x < 0.3) & (y < 0.3)}[where]
    with pytest.raises(RegionError, match="not one even tint"):
        grain(np.where(part, 0.9 * tint, tint), PIXELS_PER_MM)


def test_shots_of_different_prints_are_refused():
    with pytest.raises(RegionError, match="nothing in common"):
        grain(white_tint(8), PIXELS_PER_MM, second_shot=white_tint(9))
