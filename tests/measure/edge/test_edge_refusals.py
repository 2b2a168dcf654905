"""Regions that do not hold one whole slanted edge are refused with the reason."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.edge.cautions import BlurReachesEnds, LightFarFromEdge
from dotloupe.measure.edge.slanted import slanted_edge

ROW, COLUMN = np.mgrid[:100, :100]


def noisy(region, noise=0.006):
    return region + noise * np.random.default_rng(0).standard_normal(region.shape)


def edge(angle_deg=5.0, sigma=2.0, offset=0.0):
    x, y = COLUMN - 49.5 - offset, ROW - 49.5
    d = x * np.cos(np.radians(angle_deg)) - y * np.sin(np.radians(angle_deg))
    return 0.2 + 0.6 * ndtr(d / sigma)


def between_pixels(sigma):
    """Edge on 24 x 24 pixels at 3 degrees, of which hardly any lies on it."""
    d = (COLUMN - 12) * np.cos(np.radians(3)) - (ROW - 12) * np.sin(np.radians(3))
    return (0.2 + 0.6 * ndtr(d / sigma))[:24, :24]


def missing(value):
    region = edge()
    region[40, 41] = value
    return region


NOISE = np.random.default_rng(1).standard_normal((100, 100))
REFUSED = {
    "constant": (np.full((100, 100), 0.5), "flat"),
    "flat with noise": (noisy(np.full((100, 100), 0.5), 0.05), "flat"),
    "flat with grain": (0.5 + 0.1 * gaussian_filter(NOISE, 4.0), "no single straight edge"),
    "two edges, a bar": (edge(offset=-15.0) - edge(offset=15.0), "two or more edges"),
    "two edges, a bar with noise": (
        noisy(edge(offset=-15.0) - edge(offset=15.0)),
        "two or more edges",
    ),
    "two edges, a stair": (0.5 * (edge(offset=-20.0) + edge(offset=20.0)), "two or more edges"),
    "two edges, a stair with noise": (
        noisy(0.5 * (edge(offset=-20.0) + edge(offset=20.0))),
        "two or more edges",
    ),
    "bars": (noisy(0.5 + 0.3 * np.sin(COLUMN / 3 + ROW / 30)), "two or more edges"),
    "a corner": (
        noisy(np.where((COLUMN > 50 + 0.08 * ROW) & (ROW > 50), 0.2, 0.8)),
        "no single straight edge",
    ),
    "a dot": (noisy(np.where(np.hypot(COLUMN - 50, ROW - 50) < 20, 0.3, 0.8)), "no single"),
    "0 degrees": (edge(0.0), "aligned with the pixel grid"),
    "0 degrees with noise": (noisy(edge(0.0)), "aligned with the pixel grid"),
    "45 degrees": (edge(45.0), "tilted by 45 degrees"),
    "45 degrees with noise": (noisy(edge(-45.0)), "tilted by 45 degrees"),
    "missing": (missing(np.nan), "missing values"),
    "infinite": (missing(np.inf), "missing values"),
    "light clipped, clean": (np.minimum(edge(), 0.65), "clipped"),
    "light clipped": (np.minimum(noisy(edge()), 0.65), "clipped"),
    "light clipped in part": (np.minimum(noisy(edge(), 0.02), 0.8), "clipped"),
    "dark clipped": (np.maximum(noisy(edge()), 0.35), "clipped"),
    "dark clipped in part": (np.maximum(noisy(edge(), 0.02), 0.2), "clipped"),
    "blur far wider": (edge(sigma=25.0), "blur is wider"),
    "blur wider, with noise": (noisy(edge(sigma=20.0)), "blur is wider"),
    "a ramp": (noisy(0.2 + 0.5 * COLUMN / 99 + 0.05 * ROW / 99), "blur is wider"),
    "between the pixels": (between_pixels(0.15), "sharper"),
    "between the pixels, with noise": (noisy(between_pixels(0.05), 0.01), "sharper"),
    "edge at the border": (noisy(edge(offset=47.0)), "border"),
    "too small": (edge()[:10, :10], "at least 24 x 24"),
    "empty": (np.empty((0, 0)), "at least 24 x 24"),
    "colour": (np.stack([edge()] * 3, axis=-1), "2-D"),
    "words": (np.full((100, 100), "light"), "numbers"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_the_reason(name):
    region, reason = REFUSED[name]
    for shown in (region, np.swapaxes(region, 0, 1)):
        with pytest.raises(RegionError, match=reason):
            slanted_edge(shown, 100.0)


@pytest.mark.parametrize("pixels_per_mm", [0.0, -3.0, np.nan])
def test_sampling_must_be_a_positive_number(pixels_per_mm):
    with pytest.raises(RegionError, match="pixels_per_mm"):
        slanted_edge(edge(), pixels_per_mm)


@pytest.mark.parametrize(
    "region",
    [
        np.round(255 * edge()) / 255,
        np.round(60 * noisy(edge(), 0.01)) / 60,
        noisy(edge(offset=35.0)),
        noisy(edge(), 0.1),
        noisy(0.5 + 0.02 * (edge() - 0.5), 5e-4),
        edge(sigma=12.0),
    ],
    ids=["8 bits", "6 bits", "off centre", "noisy", "1.05 to 1", "4 sigma of room"],
)
def test_not_refused(region):
    """Quantised, noisy, faint or off-centre edges are edges all the same."""
    assert slanted_edge(region, 100.0).mtf50 > 0


def test_a_tight_region_is_flagged():
    assert BlurReachesEnds() in slanted_edge(edge(sigma=15.0), 100.0).cautions


def test_uneven_light_across_the_edge_is_flagged():
    cautions = slanted_edge(edge(sigma=3.0) * (1 + 0.05 * COLUMN / 99), 100.0).cautions
    assert any(isinstance(c, LightFarFromEdge) for c in cautions)
