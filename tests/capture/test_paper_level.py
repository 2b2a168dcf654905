"""The level of the paper and the fall of the light over it."""

import numpy as np
import pytest

from dotloupe.capture.paper_level import fit_lighting, paper_level
from dotloupe.errors import NotFitError


def places(n, seed=0):
    return np.random.default_rng(seed).uniform((0, 0), (6000, 4000), (n, 2))


def fall(points):
    """A slope, a quadratic fall-off and a third-degree twist, as logarithms of the light."""
    u, v = points[:, 0] / 6000 - 0.5, points[:, 1] / 4000 - 0.5
    return 0.3 * u - 0.2 * v - 0.5 * (u * u + v * v) + 0.2 * u * u * v


def test_paper_level_passes_over_ink():
    rng = np.random.default_rng(0)
    light = np.full((600, 900, 3), (0.7, 0.75, 0.6)) * rng.normal(1, 0.02, (600, 900, 1))
    light[100:400, :600] *= 0.2  # ink over a third of the frame
    # The 90th percentile of blocks averaged over 144 pixels lies 0.2 % above their mean.
    assert np.allclose(paper_level(light), (0.7, 0.75, 0.6), rtol=0.004)


def test_light_is_fitted_exactly_where_it_is_a_cubic():
    points = places(300)
    lighting = fit_lighting(points, np.exp(fall(points))[:, None] * [1.0, 0.9, 1.1])
    fresh = places(200, seed=1)
    seen = lighting.over(fresh[:, 0], fresh[:, 1])
    assert np.allclose(seen, np.exp(fall(fresh))[:, None] * [1.0, 0.9, 1.1], rtol=1e-9)
    spread = np.exp(np.ptp(fall(points))) - 1
    assert lighting.unevenness == pytest.approx(spread, rel=1e-6)
    assert lighting.residual < 1e-9


def test_dirt_on_the_paper_does_not_bend_the_light():
    points, rng = places(400), np.random.default_rng(2)
    levels = np.exp(fall(points))[:, None] * rng.normal(1, 0.01, (400, 3))
    levels[:40] *= 0.5
    lighting = fit_lighting(points, levels)
    seen = lighting.over(points[:, 0], points[:, 1])
    error = seen / np.exp(fall(points))[:, None] - 1
    # Ten terms on 360 points of 1 % noise leave 0.17 % rms; the 10 % of dirt would bend by 5 %.
    assert np.sqrt(np.mean(error**2)) < 0.004
    assert lighting.residual == pytest.approx(0.01, rel=0.15)


def test_too_little_paper():
    with pytest.raises(NotFitError, match="clear paper"):
        fit_lighting(places(20), np.ones((20, 3)))


def test_black_paper():
    with pytest.raises(NotFitError, match="clear paper"):
        fit_lighting(places(100), np.full((100, 3), 0.001))


def test_light_over_a_grid_is_that_of_its_points():
    """Single precision keeps 1e-6 of a light that changes by tens of per cent."""
    points = places(300)
    lighting = fit_lighting(points, np.exp(fall(points))[:, None] * [1.0, 0.9, 1.1])
    x, y = np.linspace(10.0, 900.0, 30), np.linspace(700.0, 5.0, 20)
    expected = lighting.over(x[None, :], y[:, None])
    assert np.allclose(lighting.over_grid(x, y), expected, rtol=1e-6)
