"""Dots drawn at random and on lattices: closed forms for their nearest neighbours.

Clark and Evans 1954 (from memory): mean distance 1/2 density^-1/2 at random, standard deviation
0.523 of the mean; lattices follow from their geometry (derived). All pictures are simulated.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.errors import RegionError
from dotloupe.measure.dots.cautions import DotsTouch
from dotloupe.measure.dots.finding import FoundDots, _dot_sigma
from dotloupe.measure.dots.statistics import TAPER, _tapered_counts, dots
from dotloupe.simulate import FAST, FINE, print_picture

DIAMETER_MM = 0.03
OVERSAMPLED = 4


def drawn(points, size_mm, px=200.0, blur_mm=0.0075, noise=0.01, diameter_mm=DIAMETER_MM, seed=0):
    """Round dots of 60 % depth, area-sampled, blurred and with camera noise."""
    side = round(size_mm * px) * OVERSAMPLED
    scale = px * OVERSAMPLED
    radius = diameter_mm / 2 * scale
    reach = int(radius) + 2
    pad = 2 * reach
    ink = np.zeros((side + 2 * pad + 1, side + 2 * pad + 1), bool)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    inside = ((points * scale > -reach) & (points * scale < side + reach)).all(axis=1)
    for at_x, at_y in points[inside] * scale:
        left, top = int(np.floor(at_x)), int(np.floor(at_y))
        stamp = (x + left + 0.5 - at_x) ** 2 + (y + top + 0.5 - at_y) ** 2 < radius**2
        rows = slice(top + pad - reach, top + pad + reach + 1)
        ink[rows, left + pad - reach : left + pad + reach + 1] |= stamp
    ink = ink[pad : pad + side, pad : pad + side]
    covered = ink.reshape(side // OVERSAMPLED, OVERSAMPLED, side // OVERSAMPLED, OVERSAMPLED).mean(
        axis=(1, 3)
    )
    picture = 1 - 0.6 * gaussian_filter(covered, blur_mm * px)
    return picture + noise * np.random.default_rng(seed).standard_normal(picture.shape)


def at_random(density, size_mm, seed=0):
    rng = np.random.default_rng(seed)
    wide = size_mm + 0.4
    return rng.random((rng.poisson(density * wide**2), 2)) * wide - 0.2


def lattice(kind, density, size_mm, wander=0.0, seed=0):
    """Square or hexagonal; `wander` is the rms displacement each way in lattice steps."""
    count = np.arange(-3.0, size_mm * density**0.5 * 1.3 + 3)
    x, y = np.meshgrid(count, count)
    step = density**-0.5
    if kind == "hexagonal":
        step *= (2 / 3**0.5) ** 0.5
        x, y = x + 0.5 * (y % 2), y * 3**0.5 / 2
    points = np.stack([x.ravel(), y.ravel()], axis=1) * step
    return points + wander * step * np.random.default_rng(seed).standard_normal(points.shape)


@pytest.mark.parametrize(
    ("kind", "ratio"), [("square", 2.0), ("hexagonal", 2 * (2 / 3**0.5) ** 0.5)]
)
@pytest.mark.parametrize("density", [60.0, 150.0])
def test_lattices_have_their_density_and_nearest_neighbours(kind, ratio, density, outside_check):
    found = dots(drawn(lattice(kind, density, 2.5), 2.5), 200.0)
    assert found.density == pytest.approx(density, rel=0.02)
    # Noise moves centres by a tenth of a pixel, and the nearest of four or six lies nearer by it.
    claim = f"nearest neighbours of a {kind} lattice over those at random, {density:g} per mm2"
    source = "geometry of the lattice; Clark and Evans 1954"
    outside_check(claim, source, ratio, found.to_random, rel=0.02, memory=True)
    assert found.to_lattice == pytest.approx(ratio / 2.1491, rel=0.02)
    assert found.spacing_variation < 0.05
    assert found.trust == "good"


def test_dots_at_random_have_the_ratio_of_clark_and_evans(outside_check):
    """At 12 per mm^2 only 3 % of dots touch another; each pair that runs together adds a little."""
    found = dots(drawn(at_random(12.0, 7.0), 7.0, px=150.0), 150.0)
    assert found.density == pytest.approx(12.0, rel=0.08)  # 600 dots: 4 % by chance alone
    assert found.to_random_interval[0] < 1.03 < found.to_random_interval[1]
    for name, value, ours, bound in (
        ("ratio", 1.0, found.to_random, 0.08),
        ("spread", 0.523, found.spacing_variation, 0.06),
    ):
        claim = f"{name} of nearest-neighbour distances of dots at random"
        outside_check(claim, "Clark and Evans 1954", value, ours, abs=bound, memory=True)


def test_more_wander_is_less_even():
    ratios = [
        dots(drawn(lattice("square", 80.0, 2.5, wander), 2.5), 200.0).to_lattice
        for wander in (0.0, 0.1, 0.2, 0.3)
    ]
    assert all(np.diff(ratios) < -0.05)


@pytest.mark.parametrize("diameter_mm", [0.03, 0.045, 0.06])
def test_size_is_the_diameter_at_half_depth(diameter_mm):
    picture = drawn(lattice("hexagonal", 40.0, 2.5), 2.5, blur_mm=0.005, diameter_mm=diameter_mm)
    found = dots(picture, 200.0)
    # Blur of 5 um leaves the half-depth contour of a disc of 30 um or more in place to 5 %.
    assert found.size_um == pytest.approx(1000 * diameter_mm, rel=0.06)


def test_intervals_of_density_and_ratio_hold_the_truth():
    every = [
        dots(drawn(at_random(15.0, 3.0, seed), 3.0, px=100.0, seed=seed), 100.0)
        for seed in range(20)
    ]
    # What runs together on the paper is one dot: 1 in 35 or so is lost.
    low, high = np.array([found.density_interval for found in every]).T
    assert np.sum((low <= 15.0 * 0.97) & (high >= 15.0 * 0.97)) >= 16
    # Pairs that run together lift the ratio of all alike, so that their mean stands for the truth.
    ratio = np.array([found.to_random for found in every])
    low, high = np.array([found.to_random_interval for found in every]).T
    assert np.sum((low <= ratio.mean()) & (ratio.mean() <= high)) >= 16
    # Half widths are 2.13 standard errors (16 tiles); 20 values know their scatter to 16 %.
    assert np.mean(high - low) / 2 == pytest.approx(2.13 * ratio.std(ddof=1), rel=0.5)


def test_dots_are_found_where_they_were_drawn():
    points = lattice("square", 60.0, 2.0)
    found = dots(drawn(points, 2.0), 200.0)
    places = np.stack([found.x_mm, found.y_mm], axis=1)
    apart = places[:, None] - points[None]
    nearest = apart[np.arange(len(places)), np.hypot(*np.moveaxis(apart, -1, 0)).argmin(axis=1)]
    # Pixels of 5 um; noise of 1 % moves a centre by a tenth of one, the mean of 200 far less.
    inside = np.all((places > 0.05) & (places < 1.95), axis=1)
    assert nearest[inside].mean(axis=0) == pytest.approx((0, 0), abs=5e-4)


def test_few_pixels_a_dot_are_trusted_less():
    points = lattice("square", 60.0, 3.0)
    trust = [
        dots(drawn(points, 3.0, px=px, blur_mm=0.5 / px), px).trust for px in (200.0, 120.0, 70.0)
    ]
    assert trust == ["good", "limited", "none"]


def test_dots_that_touch_are_trusted_less():
    found = dots(drawn(at_random(150.0, 3.0), 3.0), 200.0)
    assert found.touching > 0.05
    assert found.trust != "good"
    assert DotsTouch(found.touching) in found.cautions


EVEN = 0.9 + 0.02 * np.random.default_rng(0).standard_normal((300, 300))


@pytest.mark.parametrize(
    ("region", "says"),
    [
        (EVEN, "clear of the grain"),
        (np.full((300, 300), 0.9), "clear of the grain"),
        (np.full((300, 300), np.nan), "not numbers"),
        (EVEN[:30, :30], "pixels"),
        (np.minimum(drawn(lattice("square", 60.0, 2.0), 2.0, noise=0.03), 1.0), "clipped"),
        (drawn(lattice("square", 4.0, 2.0), 2.0), "larger region"),
        (drawn(at_random(900.0, 2.0), 2.0), "lighter|grain"),
        (drawn(lattice("square", 60.0, 2.0), 2.0) - 0.4 * (np.arange(400) > 200), "one tint"),
    ],
)
def test_regions_without_single_dots_are_refused(region, says):
    with pytest.raises(RegionError, match=says):
        dots(region, 200.0)


@pytest.mark.parametrize("mode", [FAST, FINE])
def test_dots_of_a_simulated_print_are_counted(mode):
    """The invented printer's own count of cyan drops in a light grey, within 4 %."""
    picture = np.full((71, 71, 3), 243, dtype=np.uint8)
    printed = print_picture(picture, 720, mode=mode, seed=1, margin_mm=0.2)
    window = (0.1, 0.1, 2.4, 2.4)
    rows, columns = (
        slice(*(round(v) for v in printed.to_pixel(np.array(window[k::2])))) for k in (1, 0)
    )
    found = dots(printed.bands[0, rows, columns], printed.pixels_per_mm)
    truth = printed.ink_dots("cyan", window).count / 2.3**2
    assert found.density == pytest.approx(truth, rel=0.04)
    assert found.to_random > 1.3  # a dispersed halftone is far from random


@pytest.mark.parametrize("sigma", [2.0, 3.0])
def test_the_autocorrelation_of_gaussian_dots_tells_their_size(sigma):
    """Of one dot it is a Gaussian of sqrt(2) sigma; 16 dots of 400 x 400 pixels do not meet."""
    y, x = np.mgrid[:400, :400].astype(float)
    darkness = np.zeros((400, 400))
    for at_x, at_y in np.random.default_rng(0).uniform(-15, 15, (16, 2)) + [
        (50 + 100 * i, 50 + 100 * j) for i in range(4) for j in range(4)
    ]:
        darkness += np.exp(-((x - at_x) ** 2 + (y - at_y) ** 2) / (2 * sigma**2))
    # taken straight between pixels, over a curve that bends by 1/16 a squared pixel: 2 %
    assert _dot_sigma(darkness) == pytest.approx(sigma, rel=0.02)


def test_dots_fade_out_over_their_own_spacing_whatever_the_shape_of_the_region():
    """A squared sine from 0 to 1 over the taper leaves half of it, at both ends of both sides."""
    height, width, count = 200, 800, 400
    place = np.linspace(0, 1, count)
    found = FoundDots(place * width, place * height, np.ones(count), np.ones(count), 0.1)
    _, areas = _tapered_counts(found, np.zeros(count, np.intp), (height, width))
    taper = TAPER * np.sqrt(height * width / count)
    assert areas.sum() == pytest.approx((height - taper) * (width - taper), rel=1e-3)
