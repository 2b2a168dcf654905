"""Do 95 % intervals of grain hold the truth 95 times in 100? A study of some minutes.

Fields are simulated: Gaussian noise of a known spectrum, cut from a larger field so that it does
not close on itself, and random discs, few enough that single dots count.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import j0, j1

from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.seeing import dooley_shaw_transfer

PIXELS_PER_MM = 40.0
MEAN = 0.5
SPECTRA = {
    "gauss": lambda f: 1e-6 * np.exp(-((f / 12.0) ** 2)),
    "steep": lambda f: 1e-6 / (1 + (f / 1.5) ** 2),
    "white": lambda f: 1e-6 + 0 * f,
}


def coloured(rng, side_px, pixels_per_mm, shape, around=3):
    """Gaussian field of a spectrum in mm^2, cut from one `around` times as wide."""
    n = side_px * around
    frequency = np.hypot(
        np.fft.fftfreq(n, 1 / pixels_per_mm)[:, None],
        np.fft.rfftfreq(n, 1 / pixels_per_mm)[None, :],
    )
    white = np.fft.rfft2(rng.standard_normal((n, n)))
    return np.fft.irfft2(white * np.sqrt(shape(frequency)) * pixels_per_mm, (n, n))[
        :side_px, :side_px
    ]


def true_scores(shape, pixels_per_mm, mean=MEAN):
    """Scores by their definitions, on a grid of frequencies up to the sampling's limit."""
    axis = np.linspace(-pixels_per_mm / 2, pixels_per_mm / 2, 1201)
    radius = np.hypot(axis[:, None], axis[None, :])
    power = shape(radius)
    cell = np.outer(np.sinc(0.0423 * axis) ** 2, np.sinc(0.0423 * axis) ** 2)
    x = np.pi * 0.048 * np.maximum(radius, 1e-9)
    density = 1 / (np.log(10) * mean)
    lightness = 116 / 3 * mean ** (-2 / 3)
    low = np.linspace(0, 0.4, 2001)

    def deviation(weight):
        return np.sqrt(np.trapezoid(np.trapezoid(power * weight, axis), axis))

    eye = dooley_shaw_transfer(radius * 350 * np.pi / 180) ** 2
    return {
        "graininess": density * deviation(cell * (radius >= 0.4)),
        "mottle": density * np.sqrt(np.trapezoid(2 * np.pi * low * shape(low), low)),
        "rms_granularity": 1000 * density * deviation((2 * j1(x) / x) ** 2),
        "visual_graininess": lightness * deviation(eye),
    }


def held_share(fields, shape, pixels_per_mm, mean=MEAN):
    """Share of fields of which each interval holds the truth, and the rings' mean share."""
    truth = true_scores(shape, pixels_per_mm, mean)
    held = dict.fromkeys([*truth, "rings"], 0.0)
    count = 0
    for result in fields:
        count += 1
        for name, true in truth.items():
            low, high = getattr(result, f"{name}_interval")
            held[name] += low <= true <= high
        spectrum = shape(result.frequency)
        inside = (result.noise_power_low <= spectrum) & (spectrum <= result.noise_power_high)
        held["rings"] += inside[result.frequency < 15].mean()
    return {name: total / count for name, total in held.items()}


def scores_of(name, side_mm, fields, camera_power=0.0):
    """Held shares for one spectrum and region; with camera noise, in two shots."""
    shape, side = SPECTRA[name], round(side_mm * PIXELS_PER_MM)

    def results():
        for seed in range(fields):
            rng = np.random.default_rng([seed, 21])
            field = MEAN + coloured(rng, side, PIXELS_PER_MM, shape)
            if not camera_power:
                yield grain(field, PIXELS_PER_MM)
                continue
            deviation = np.sqrt(camera_power * 1e-6) * PIXELS_PER_MM
            one, two = (field + deviation * rng.standard_normal(field.shape) for _ in range(2))
            yield grain(one, PIXELS_PER_MM, second_shot=two)

    return held_share(results(), shape, PIXELS_PER_MM)


@pytest.mark.slow
@pytest.mark.parametrize("side_mm", [2.54, 5.0])
@pytest.mark.parametrize("name", ["gauss", "steep", "white"])
def test_intervals_of_one_shot_hold_the_truth(name, side_mm):
    # 200 fields: 0.95 is known to 0.015; four standard errors below lies 0.89. More than 0.95 is
    # allowed: mottle of a small region is carried over, with an interval wider than need be.
    shares = scores_of(name, side_mm, 200)
    assert min(shares.values()) > 0.89, shares


@pytest.mark.slow
@pytest.mark.parametrize("name", ["gauss", "white"])
def test_intervals_of_two_shots_hold_the_truth(name):
    shares = scores_of(name, 2.54, 200, camera_power=1.0)
    assert min(shares.values()) > 0.89, shares


@pytest.mark.slow
@pytest.mark.parametrize(("coverage", "diameter_mm"), [(0.02, 0.04), (0.05, 0.08), (0.4, 0.04)])
def test_intervals_hold_the_truth_of_single_dots(coverage, diameter_mm):
    # 50 to 2000 dots in a region of 2.54 mm: a Gaussian field's interval would be far too narrow.
    cv2 = pytest.importorskip("cv2")
    average, pixels_per_mm = 6, 75.0
    radius_px = diameter_mm / 2 * pixels_per_mm * average
    pad, side = int(radius_px) + 2, round(2.54 * pixels_per_mm) * average
    area = np.sum(np.hypot(*np.mgrid[-pad : pad + 1, -pad : pad + 1]) <= radius_px)
    chance = -np.expm1(np.log1p(-coverage) / area)

    r = (np.arange(2000) + 0.5) / 2000
    overlap = 2 / np.pi * (np.arccos(r) - r * np.sqrt(1 - r * r))
    covariance = (1 - coverage) ** 2 * np.expm1(-np.log1p(-coverage) * overlap)
    grid = np.linspace(0, 60, 1200)
    transform = j0(2 * np.pi * grid[:, None] * diameter_mm * r) @ (covariance * 2 * np.pi * r)
    angle = (np.arange(16) + 0.5) * np.pi / 64
    box = np.mean(
        (
            np.sinc(np.outer(grid, np.cos(angle)) / pixels_per_mm)
            * np.sinc(np.outer(grid, np.sin(angle)) / pixels_per_mm)
        )
        ** 2,
        axis=1,
    )
    spectrum = transform * diameter_mm**2 / 2000 * box

    def results():
        for seed in range(150):
            rng = np.random.default_rng([seed, 22])
            centres = rng.random((side + 2 * pad, side + 2 * pad), dtype=np.float32) < chance
            distance = cv2.distanceTransform(
                (~centres).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE
            )[pad:-pad, pad:-pad]
            drawn = (distance > radius_px + 1e-3).astype(np.float32)
            n = side // average
            yield grain(drawn.reshape(n, average, n, average).mean(axis=(1, 3)), pixels_per_mm)

    shares = held_share(
        results(), lambda f: np.interp(f, grid, spectrum), pixels_per_mm, 1 - coverage
    )
    # 150 fields: four standard errors below 0.95 lies 0.88; rings near the zeros of the spectrum
    # hold what the taper brings from their neighbours, so they are not asked here
    del shares["rings"]
    assert min(shares.values()) > 0.88, shares
