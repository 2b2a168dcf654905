"""The bound on a camera's blur, against blurs that are known."""

import cv2
import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.fitness.steepest_edges import steepest_edges

from .views import PER_MM, view_of

PAPER = 0.8
"""Of the drawing."""


def bound(light):
    """Second least of all elements, by direction, in um^2."""
    return np.sort(steepest_edges(view_of(light / PAPER)).variance_um2, axis=0)[1]


def blurred_by_disc(light, diameter_px):
    half = int(diameter_px)
    fine = (np.arange(9 * (2 * half + 1)) - 4) / 9 - half
    inside = np.hypot(fine[:, None], fine) <= diameter_px / 2
    kernel = inside.reshape(2 * half + 1, 9, 2 * half + 1, 9).mean(axis=(1, 3))
    return cv2.filter2D(light, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE)


@pytest.mark.parametrize("diameter_um", [100.0, 160.0, 240.0])
def test_a_disc_is_found_at_its_own_variance(drawn, diameter_um):
    """D^2 / 16 along each axis (closed form), from solid edges; never less, as that would excuse.

    A drawing whose pixels are those of the capture adds their width to both.
    """
    found = bound(blurred_by_disc(drawn, diameter_um / 1000 * PER_MM))
    assert found[[0, 2]] == pytest.approx(diameter_um**2 / 16, rel=0.12)
    assert found.min() > 0.9 * diameter_um**2 / 16


def test_a_gaussian_counts_as_a_disc_with_its_peak(drawn):
    """Peak 1 / (s sqrt(2 pi)) equals 4 / (pi D) for a variance D^2 / 16 of 2 s^2 / pi."""
    found = bound(gaussian_filter(drawn, 2.0))
    assert found[[0, 2]] == pytest.approx(2 * 40.0**2 / np.pi, rel=0.12)


def test_single_dots_tell_as_edges_do(drawn):
    """Where solid edges are soft, dots that are not exclude that the camera blurred them."""
    rng = np.random.default_rng(3)
    soft = gaussian_filter(drawn, 4.0)
    dots = cv2.dilate((rng.random(drawn.shape) < 0.01).astype(float), np.ones((2, 2)))
    assert bound(soft).max() > 3 * bound(gaussian_filter(soft * (1 - 0.9 * dots), 1.0)).max()


def test_noise_does_not_excuse(drawn):
    soft = blurred_by_disc(drawn, 8.0)
    noisy = 0.95 * soft + np.random.default_rng(4).normal(0, 0.004, soft.shape)
    level = bound(0.95 * soft)
    assert np.all(bound(noisy) > 0.95 * level)
    assert np.all(bound(noisy)[[0, 2]] < 1.5 * level[[0, 2]])


def test_motion_shows_along_itself_only(drawn):
    moved = cv2.blur(gaussian_filter(drawn, 1.0), (7, 1), borderType=cv2.BORDER_REPLICATE)
    across, _, down, _ = bound(moved)
    assert across > 3 * down
