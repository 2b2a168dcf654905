"""Slanted edge against published and closed-form figures."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

from dotloupe.measure.edge.cautions import TailContinued
from dotloupe.measure.edge.slanted import slanted_edge

BENCHMARK = runpy.run_path(str(Path(__file__).with_name("edge_benchmark.py")))
Shape, picture, true_frequency = (BENCHMARK[n] for n in ("Shape", "picture", "true_frequency"))


def distances(angle_deg, size=(100, 100)):
    y = np.arange(size[0])[:, None] - 0.5 * (size[0] - 1)
    x = np.arange(size[1])[None, :] - 0.5 * (size[1] - 1) - 0.3
    return x * np.cos(np.radians(angle_deg)) - y * np.sin(np.radians(angle_deg))


@pytest.mark.parametrize("angle_deg", [5.0, 10.0])
def test_square_pixel(angle_deg, outside_check):
    """A sharp edge averaged over square pixels: MTF50 0.60335 cycles/px along a row.

    Closed form, sinc(f cos) sinc(f sin); the area of a half plane in a square is exact.
    """
    half_cosine = 0.5 * np.cos(np.radians(angle_deg))
    half_sine = 0.5 * np.sin(np.radians(angle_deg))
    d = distances(angle_deg)

    def twice_summed(t):
        return 0.5 * np.maximum(t, 0.0) ** 2

    share = sum(
        a * b * twice_summed(d + a * half_cosine + b * half_sine) for a in (1, -1) for b in (1, -1)
    ) / (4.0 * half_cosine * half_sine)
    response = slanted_edge(0.2 + 0.6 * share, 1.0)
    sharp = Shape("sharp", None, np.ones_like)
    closed = "closed form, sinc of a square pixel"
    claim = "MTF50 of a square pixel along a row, cycles/px"
    outside_check(claim, closed, 0.60335, true_frequency(sharp, 0.0), abs=1e-5)
    claim = f"MTF50 of a sharp edge at {angle_deg:g} degrees seen by square pixels, cycles/px"
    outside_check(claim, closed, true_frequency(sharp, angle_deg), response.mtf50, rel=2e-3)


@pytest.mark.parametrize("cutoff", [0.1, 0.25])
def test_diffraction_limited_pupil(cutoff, outside_check):
    """MTF50 of a circular pupil is 0.40397 of its cutoff (closed form, Goodman, from memory).

    Its line spread falls only as the inverse square of the distance, so a window alone would
    read 2 % high.
    """

    def transfer(f):
        share = np.minimum(np.asarray(f) / cutoff, 1.0)
        return 2.0 / np.pi * (np.arccos(share) - share * np.sqrt(1.0 - share**2))

    frequency = (np.arange(8000) + 0.5) / 8000 * cutoff
    at = np.linspace(0.0, 90.0, 1201)
    waves = np.sin(2 * np.pi * np.outer(at, frequency)) * transfer(frequency) / (np.pi * frequency)
    half = 0.5 + waves.sum(axis=1) * (frequency[1] - frequency[0])
    spread = np.interp(np.abs(d := distances(5.0)), at, half)
    edge = 0.2 + 0.6 * np.where(d >= 0, spread, 1.0 - spread)
    # Point samples: no pixel aperture, so the figure is the pupil's alone.
    response = slanted_edge(edge, 1.0)
    outside_check(
        f"MTF50 of a diffraction-limited round pupil, cutoff {cutoff:g} cycles/px",
        "closed form, Goodman, Introduction to Fourier Optics",
        0.40397 * cutoff,
        response.mtf50,
        rel=3e-3,
        memory=True,
    )
    assert TailContinued() in response.cautions


def test_gaussian_constants(outside_check):
    """MTF50, MTF10 and 10-90 % rise of a Gaussian edge (closed form), point-sampled."""
    response = slanted_edge(0.2 + 0.6 * ndtr(distances(5.0) / 3.0), 1.0)
    for name, value, ours, rel in (
        ("MTF50 times sigma", 0.18739, 3.0 * response.mtf50, 5e-4),
        ("MTF10 times sigma", 0.34154, 3.0 * response.mtf10, 1e-3),
        ("10-90 % rise over sigma", 2.5631, response.rise_um / 3000.0, 1e-3),
    ):
        claim = f"{name} of a Gaussian edge"
        outside_check(claim, "closed form, normal distribution", value, ours, rel=rel)


@pytest.mark.parametrize(
    ("frequency", "difference", "bins"),
    [(0.25, 1.0262, 0.9936), (0.5, 1.1107, 0.9745), (1.0, 1.5708, 0.9003)],
)
def test_no_difference_filter_and_no_bin_to_correct(frequency, difference, bins, outside_check):
    """Put the plain procedure's losses in, and its published corrections come out.

    ISO 12233, quarter-pixel bins and the filter [-1/2, 0, 1/2]: the factors are derived.
    """
    sigma = 0.3
    response = slanted_edge(0.2 + 0.6 * ndtr(distances(5.0) / sigma), 1.0)
    place = np.arange(-3.0, 3.01, 0.25)
    mtf = np.interp(frequency, response.frequency, response.mtf)
    assert mtf == pytest.approx(np.exp(-2 * (np.pi * frequency * sigma) ** 2), rel=3e-3)
    fine = response.distance_um / 1000.0

    def plain(spread):
        slope = 0.5 * (spread[2:] - spread[:-2])
        return abs((slope * np.exp(-2j * np.pi * frequency * place[1:-1])).sum())

    sampled = np.interp(place, fine, response.edge_spread)
    source = "ISO 12233 edge procedure, derived: quarter-pixel bins, filter [-1/2, 0, 1/2]"
    claim = f"loss of the difference filter at {frequency:g} cycles/px, as a factor"
    outside_check(claim, source, difference, mtf / plain(sampled), rel=3e-3)
    middles = 0.5 * (response.edge_spread[1:] + response.edge_spread[:-1])
    summed = np.append(0.0, np.cumsum(middles * np.diff(fine)))
    averaged = 4.0 * (
        np.interp(place + 0.125, fine, summed) - np.interp(place - 0.125, fine, summed)
    )
    claim = f"loss of the bins at {frequency:g} cycles/px, as a factor"
    outside_check(claim, source, bins, plain(averaged) / plain(sampled), rel=3e-3)


def test_tilt_is_taken_along_the_normal(outside_check):
    """Row frequency is cos(angle) of that along the normal: 1.54 % at 10 degrees (derived)."""
    sigma = 3.0
    straight = slanted_edge(0.2 + 0.6 * ndtr(distances(10.0) / sigma), 1.0)
    along_rows = slanted_edge(
        0.2 + 0.6 * ndtr(distances(10.0) / np.cos(np.radians(10.0)) / sigma), 1.0
    )
    assert straight.mtf50 == pytest.approx(0.18739 / sigma, rel=1e-3)
    ratio = straight.mtf50 / along_rows.mtf50
    claim = "MTF50 along the normal over MTF50 along the rows, edge at 10 degrees"
    outside_check(claim, "closed form, cosine of the angle", 1 / 1.0154, ratio, rel=1e-3)
