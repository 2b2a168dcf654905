"""Slanted edge on edges whose blur is known in closed form."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.measure.edge.slanted import slanted_edge

BENCHMARK = runpy.run_path(str(Path(__file__).with_name("edge_benchmark.py")))
gaussian, picture = BENCHMARK["gaussian"], BENCHMARK["picture"]
true_frequency, true_rise, bias = (BENCHMARK[n] for n in ("true_frequency", "true_rise", "bias"))


@pytest.mark.parametrize("sigma", [0.6, 1.0, 2.0, 4.0, 6.0])
@pytest.mark.parametrize("angle_deg", [3.0, 10.0])
def test_mtf50_in_both_directions_and_polarities(sigma, angle_deg):
    truth = true_frequency(gaussian(sigma), angle_deg)
    edge = picture(gaussian(sigma), angle_deg, nodes=12 if sigma < 1 else 6)
    for region, runs, turned in (
        (edge, "vertical", 1),
        (1.0 - edge, "vertical", 1),
        (edge.T, "horizontal", 1),
        (edge[:, ::-1], "vertical", -1),
    ):
        response = slanted_edge(region, 1.0)
        assert response.runs == runs
        # The benchmark finds 0.02 %; 0.1 % leaves room for other rounding.
        assert response.mtf50 == pytest.approx(truth, rel=1e-3)
        assert response.edge_angle_deg == pytest.approx(turned * angle_deg, abs=0.01)


@pytest.mark.parametrize(
    ("sigma", "angle_deg", "dark"),
    [(0.35, 5.0, 0.75), (0.35, 15.0, 0.2), (8.0, 2.0, 0.045), (8.0, 15.0, 0.75)],
)
def test_bias_at_the_ends_of_blur_tilt_and_contrast(sigma, angle_deg, dark):
    drawn = {"dark": dark, "light": 0.9, "nodes": 16 if sigma < 1 else 6}
    # 0.3 % is what is promised from 100 x 100 px; the benchmark finds 0.01 %.
    assert abs(bias(gaussian(sigma), angle_deg, **drawn)) < 3e-3


@pytest.mark.parametrize("sigma", [1.0, 4.0])
def test_five_pixels_of_bow(sigma):
    # Promised: 0.5 %. The benchmark finds 0.04 %.
    assert abs(bias(gaussian(sigma), 5.0, bow=5.0)) < 2e-3


@pytest.mark.parametrize("make", BENCHMARK["OTHER_SHAPES"])
def test_edges_that_are_not_gaussian(make):
    shape, half = make(1.5)
    size = (100, int(2 * half))
    # Promised: 0.5 %. The benchmark finds 0.15 % at most.
    assert abs(bias(shape, 5.0, size=size)) < 3e-3
    assert abs(bias(shape, 5.0, size=size, target=0.1)) < 5e-3


def test_noise_against_the_cramer_rao_bound():
    count = 30
    mean, spread, held = BENCHMARK["deviation"](2.0, 0.02, count)
    least = BENCHMARK["bound"](2.0, 0.02)
    # The benchmark finds 1.26 times the bound; 1.5 is promised, and the standard deviation of
    # 30 edges is itself uncertain by 1 in sqrt(60).
    assert spread < 1.5 * (1 + 2 / np.sqrt(2 * count)) * least
    assert abs(mean) < 4 * spread / np.sqrt(count)
    assert held >= 0.83  # 95 % less three standard deviations of the share of 30


def test_intervals_hold_under_grain():
    held = BENCHMARK["coverage"](25)
    # 95 % less four standard deviations of the share of 25; the benchmark takes 500.
    assert min(held.values()) >= 0.77


@pytest.mark.slow
def test_intervals_hold_under_grain_over_500_edges():
    held = BENCHMARK["coverage"](500)
    # Between 92 and 98 % is promised; overshoot is an upper bound and may hold more often.
    assert min(held.values()) >= 0.92
    assert max(v for name, v in held.items() if name != "overshoot") <= 0.98


def test_frequency_is_on_the_print_and_lengths_in_um():
    response = slanted_edge(picture(gaussian(2.0), 5.0), 200.0)
    assert response.mtf50 == pytest.approx(200.0 * true_frequency(gaussian(2.0), 5.0), rel=1e-3)
    assert response.rise_um == pytest.approx(5.0 * true_rise(2.0, 5.0), rel=2e-3)
    assert response.blurriness_um == pytest.approx(response.rise_um, rel=2e-3)
    assert response.reflectance_dark == pytest.approx(0.2, abs=1e-3)
    assert response.reflectance_light == pytest.approx(0.8, abs=1e-3)


def test_response_can_be_redrawn():
    response = slanted_edge(picture(gaussian(2.0), 5.0)[:, ::-1].T, 100.0)
    share = response.edge_spread
    assert share[0] == pytest.approx(0.0, abs=1e-3)
    assert share[-1] == pytest.approx(1.0, abs=1e-3)
    assert np.all(np.diff(response.distance_um) > 0)
    area = np.trapezoid(response.line_spread, response.distance_um)
    assert area == pytest.approx(1.0, abs=1e-3)
    assert response.mtf[0] == pytest.approx(1.0, abs=1e-12)
    assert np.all(response.mtf_low <= response.mtf)
    assert np.all(response.mtf <= response.mtf_high)
    # The transpose of a mirrored edge: its points lie along the rows, half-way across.
    x, y = response.edge_place.T
    assert x[0] == pytest.approx(-0.5)
    assert x[-1] == pytest.approx(99.5)
    assert y.mean() == pytest.approx(49.5 - 0.3, abs=0.02)


def test_same_region_same_numbers_and_other_types_of_number():
    region = np.round(255 * picture(gaussian(3.0), 5.0))
    first = slanted_edge(region, 100.0)
    assert slanted_edge(region, 100.0).mtf50_interval == first.mtf50_interval
    for kind in (np.float32, np.uint8):
        assert slanted_edge(region.astype(kind), 100.0).mtf50 == pytest.approx(
            first.mtf50, rel=1e-6
        )


def test_uneven_light_along_the_edge_does_no_harm():
    along = 1.0 + 0.1 * (np.arange(100)[:, None] / 99 - 0.5)
    found = slanted_edge(along * picture(gaussian(3.0), 5.0), 1.0).mtf50
    # 10 % of fall-off from end to end moves the plateaus by far more than it moves this.
    assert found == pytest.approx(true_frequency(gaussian(3.0), 5.0), rel=5e-3)


@pytest.mark.slow
def test_wide_tails_are_not_lost_in_grain():
    """The mean of 300 edges under grain: 1 %, three of its standard errors.

    A fit that takes in the tails only where they stand out of the grain reads 1.5 % high.
    """
    shape = BENCHMARK["core_with_tails"](2.5, 4.0, 0.3)
    truth = true_frequency(shape, 5.0)
    edge = picture(shape, 5.0, size=(300, 88), dark=0.16, light=0.64)
    chance = np.random.default_rng(5)
    found = []
    for _ in range(300):
        grain = gaussian_filter(chance.standard_normal(edge.shape), 1.2)
        grain *= 0.075 / grain.std()
        found.append(slanted_edge(edge * (1 + grain), 1.0).mtf50)
    off, error = np.mean(found) / truth - 1, np.std(found, ddof=1) / np.sqrt(len(found)) / truth
    print(f"mean MTF50 of {len(found)} edges under grain: {off:+.2%} +- {error:.2%} of the truth")
    assert np.mean(found) == pytest.approx(truth, rel=0.01)
