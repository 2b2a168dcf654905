"""Rise, blurriness, raggedness and overshoot of edges drawn with known ones."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

from dotloupe.measure.edge.cautions import EdgeOvershoots
from dotloupe.measure.edge.slanted import slanted_edge

BENCHMARK = runpy.run_path(str(Path(__file__).with_name("edge_benchmark.py")))


def ragged_edge(sigma, raggedness, seed=0, noise=0.0, rows=400):
    """Rows of a Gaussian edge, each moved along its normal by chance (simulated)."""
    rng = np.random.default_rng(seed)
    y, x = np.arange(rows)[:, None] - 199.5, np.arange(140)[None, :] - 69.5
    d = x * np.cos(np.radians(5.0)) - y * np.sin(np.radians(5.0))
    share = ndtr((d - raggedness * rng.standard_normal((rows, 1))) / sigma)
    return 0.2 + 0.6 * share + noise * rng.standard_normal((rows, 140))


@pytest.mark.parametrize("raggedness", [0.3, 1.0, 2.0])
def test_raggedness_and_blurriness_are_told_apart(raggedness):
    found = [slanted_edge(ragged_edge(4.0, raggedness, s, 0.02), 100.0) for s in range(3)]
    # The standard deviation of 400 chance rows is itself known to 1 in sqrt(800), 3.5 %.
    assert np.mean([r.raggedness_um for r in found]) == pytest.approx(10 * raggedness, rel=0.08)
    # Blurriness is that of the rows before they were moved: 2.5631 sigma (closed form).
    assert np.mean([r.blurriness_um for r in found]) == pytest.approx(10 * 2.5631 * 4.0, rel=0.01)
    # The averaged edge holds both, in squares.
    both = 10 * 2.5631 * np.hypot(4.0, raggedness)
    assert np.mean([r.rise_um for r in found]) == pytest.approx(both, rel=0.02)


def test_pixel_noise_is_not_raggedness():
    response = slanted_edge(ragged_edge(4.0, 0.0, noise=0.03), 100.0)
    # Rows place the edge to about 0.19 px under this noise, which would read 1.9 um.
    assert response.raggedness_um < 0.8
    assert response.raggedness_um_interval[0] == 0.0


def test_overshoot_of_a_sharpened_edge_is_measured_and_flagged():
    y, x = np.mgrid[:200, :120] - np.array([99.5, 59.5])[:, None, None]
    d = x * np.cos(np.radians(5.0)) - y * np.sin(np.radians(5.0))
    fine = np.linspace(-30, 30, 6001)

    def sharpened(d):
        return 1.4 * ndtr(d / 3.0) - 0.4 * ndtr(d / 7.0)

    noise = 0.006 * np.random.default_rng(3).standard_normal(d.shape)
    response = slanted_edge(0.2 + 0.6 * sharpened(d) + noise, 100.0)
    truth = float(sharpened(fine).max() - 1.0)
    # The noise of the mean of 200 rows is 0.07 % of the step.
    assert response.overshoot == pytest.approx(truth, abs=0.004)
    assert response.overshoot_interval[0] <= truth <= response.overshoot_interval[1]
    assert any(isinstance(c, EdgeOvershoots) for c in response.cautions)


def test_an_edge_that_is_not_sharpened_is_not_flagged():
    response = slanted_edge(ragged_edge(4.0, 0.5, noise=0.03), 100.0)
    assert not any(isinstance(c, EdgeOvershoots) for c in response.cautions)
    assert response.overshoot_interval[0] == 0.0


def test_raggedness_of_few_rows_some_of_which_do_not_count():
    """A bent edge on 24 rows: fewer of them weigh fully than there are blocks."""
    region = BENCHMARK["picture"](
        BENCHMARK["gaussian"](0.52), 4.91, size=(24, 79), bow=3.0, offset=6.94
    )
    region += 0.6 * 0.029 * np.random.default_rng(148).standard_normal(region.shape)
    response = slanted_edge(region, 100.0)
    # in um at 10 um a pixel: no raggedness was drawn, and noise places a row to 0.05 px
    assert 0.0 <= response.raggedness_um < 1.5
    low, high = response.raggedness_um_interval
    assert low <= response.raggedness_um <= high < 3.0
