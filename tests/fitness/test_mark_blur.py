"""Blur and place of the marks' edges, against drawings blurred by a known Gaussian."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.fitness.mark_blur import drawn_variance, mark_edges

from .views import PER_MM, view_of


@pytest.mark.parametrize("sigma_um", [25.0, 40.0, 60.0])
def test_blur_of_the_marks_is_read(drawn, sigma_um):
    edges = mark_edges(view_of(gaussian_filter(drawn, sigma_um / 1000 * PER_MM), sent_ppi=1270))
    # The steps of a drawing at 1270 ppi, whose pixels are the capture's, are taken out, and a
    # Gaussian sampled and summed up is narrower than itself by the variance of a pixel.
    assert edges.variance_um2 == pytest.approx(sigma_um**2 - 20**2 / 12, rel=0.02)
    assert np.abs(edges.outward_um).max() < 1.0


def test_blur_in_one_direction_only(drawn):
    edges = mark_edges(view_of(gaussian_filter(drawn, (1.0, 3.0)), sent_ppi=1270))
    assert edges.variance_um2[:, 0] == pytest.approx(60**2 - 20**2 / 12, rel=0.02)
    assert edges.variance_um2[:, 1] == pytest.approx(20**2 - 20**2 / 12, rel=0.02)


def test_marks_that_lie_too_far_out_are_placed(drawn):
    shown = gaussian_filter(drawn, 2.0)
    larger = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, PER_MM]]) / PER_MM
    middle = np.array([15.0, 10.0])
    scale = np.array([[1 - 1e-3, 0, 1e-3 * 15], [0, 1 - 1e-3, 1e-3 * 10], [0, 0, 1]])
    edges = mark_edges(view_of(shown, scale @ larger, sent_ppi=1270))
    # The homography says that all is 0.1 % smaller than it is drawn: the marks lie inward.
    inward_um = np.abs(edges.centres_mm - middle)
    assert edges.outward_um == pytest.approx(-inward_um, abs=1)


def test_steps_of_a_drawn_edge():
    """Variance of two steps c and 1 - c one pixel apart (closed form)."""
    assert drawn_variance(np.array([0.25]), 1.0) == pytest.approx(0.25 * 0.75)
    assert drawn_variance(np.array([3.0]), 1.0) == pytest.approx(0.0)
    assert drawn_variance(np.array([0.5 * 0.04]), 0.04) == pytest.approx(0.25 * 0.04**2)
