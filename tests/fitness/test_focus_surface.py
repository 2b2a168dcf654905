"""The surface of focus and what the sharpest edges bound, against surfaces that are known."""

import numpy as np
import pytest

from dotloupe.fitness.focus import most_lost
from dotloupe.fitness.focus_surface import focus_surface

SIZE_MM = (30.0, 20.0)
EDGE_UM2 = 1600.0
CORNERS_MM = np.array([(2.0, 2.0), (28.0, 2.0), (28.0, 18.0), (2.0, 18.0)])


def surface_of(extra_um2, scatter_um2, seed=0):
    """Four corners in two directions and eight tints in a row, each kind from a zero of its own."""
    rng = np.random.default_rng(seed)
    tints = np.column_stack([np.linspace(2, 28, 8), np.full(8, 5.0)])
    places = np.vstack([CORNERS_MM, CORNERS_MM, tints])
    kinds = np.repeat([0, 1, 2], [4, 4, 8])
    blur = np.array([300.0, 500.0, 0.0])[kinds] + extra_um2(places)
    blur += rng.normal(0, scatter_um2, len(blur))
    return focus_surface(places, blur, kinds, SIZE_MM, EDGE_UM2)


def tilted(places_mm):
    return 1600.0 * places_mm[:, 0] / SIZE_MM[0]


def test_a_tilt_is_seen_at_its_size():
    surface = surface_of(tilted, 30.0)
    # from 2 to 28 mm the surface rises by 26/30 of 1600 um^2 over edges of 1600 um^2 (closed form)
    assert surface.loss.max() == pytest.approx(1 - (1 + 26 / 30) ** -0.5, abs=0.02)
    assert surface.chance < 1e-6


def test_a_coarse_halftone_blames_nobody():
    """Elements that scatter by as much as a tilt of half that size make no surface certain."""
    half = [surface_of(lambda places: 0.5 * tilted(places), 900.0, seed) for seed in range(100)]
    assert np.mean([surface.chance < 1e-3 for surface in half]) <= 0.02
    assert np.mean([surface.loss_high > 0.1 for surface in half]) >= 0.98


def test_scatter_alone_is_called_chance():
    chances = [surface_of(lambda places: 0 * places[:, 0], 200.0, s).chance for s in range(400)]
    assert np.mean(np.array(chances) < 1e-3) <= 0.005
    assert 0.01 < np.mean(np.array(chances) < 0.05) < 0.08


def test_too_few_elements_make_no_surface():
    assert focus_surface(CORNERS_MM, np.ones(4), np.zeros(4, int), SIZE_MM, EDGE_UM2) is None


@pytest.mark.parametrize(("share", "lost"), [(0.0, 0.0), (0.19, 10.0), (0.75, 50.0), (2.0, 100.0)])
def test_no_more_is_lost_than_the_sharpest_edge_allows(share, lost):
    """MTF50 of a Gaussian goes by 1/sigma: without a share s of its variance, sqrt(1 - s)."""
    assert most_lost(share * EDGE_UM2, EDGE_UM2) == pytest.approx(lost)
    assert most_lost(np.inf, EDGE_UM2) == 100
