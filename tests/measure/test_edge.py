"""Slanted edge on edges whose blur is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss
from scipy.optimize import brentq
from scipy.special import erf

from dotloupe.errors import RegionError
from dotloupe.measure.edge import slanted_edge


def gaussian_edge(sigma, angle_deg, *, shape=(100, 100), offset=0.3, dark=0.2, light=0.8):
    """Near-vertical Gaussian edge averaged over square pixels by Gauss-Legendre quadrature."""
    nodes, weights = leggauss(16 if sigma < 0.8 else 6)
    y = np.arange(shape[0])[:, None] - 0.5 * (shape[0] - 1)
    x = np.arange(shape[1])[None, :] - 0.5 * (shape[1] - 1) - offset
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    share = np.zeros(shape)
    for dx, wx in zip(nodes / 2, weights / 2, strict=True):
        for dy, wy in zip(nodes / 2, weights / 2, strict=True):
            distance = (x + dx) * cosine - (y + dy) * sine
            share += wx * wy * 0.5 * (1 + erf(distance / (np.sqrt(2) * sigma)))
    return dark + (light - dark) * share


def true_crossing(sigma, angle_deg, target):
    """Frequency where Gaussian times the pixel's transfer along the normal meets the target."""
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))

    def excess(f):
        pixel = np.sinc(f * cosine) * np.sinc(f * sine)
        return np.exp(-2 * (np.pi * f * sigma) ** 2) * pixel - target

    return brentq(excess, 1e-4, 0.95)


@pytest.mark.parametrize("sigma", [0.6, 1.0, 2.0, 4.0, 6.0])
@pytest.mark.parametrize("angle_deg", [3.0, 10.0])
def test_mtf50_of_gaussian_edges_in_both_directions_and_polarities(sigma, angle_deg):
    truth = true_crossing(sigma, angle_deg, 0.5)
    edge = gaussian_edge(sigma, angle_deg)
    for region, runs in ((edge, "vertical"), (1.0 - edge, "vertical"), (edge.T, "horizontal")):
        response = slanted_edge(region, 1.0)
        assert response.runs == runs
        # 1 % is what the plain standard procedure reaches for narrow blurs only.
        assert response.mtf50 == pytest.approx(truth, rel=0.01)
        assert response.edge_angle_deg == pytest.approx(angle_deg, abs=0.02)


def test_frequency_is_on_the_print_and_lengths_in_um():
    response = slanted_edge(gaussian_edge(2.0, 5.0), 200.0)
    assert response.mtf50 == pytest.approx(200.0 * true_crossing(2.0, 5.0, 0.5), rel=0.01)
    # The 10-90 % rise of a Gaussian is 2.5631 sigma (closed form), here with the pixel's 1/12.
    assert response.rise_um == pytest.approx(2.5631 * np.sqrt(4 + 1 / 12) * 5.0, rel=0.01)
    assert response.mtf50_interval[0] <= response.mtf50 <= response.mtf50_interval[1]


@pytest.mark.parametrize("bad", [np.full((100, 100), 0.5), np.full((100, 100), np.nan)])
def test_flat_and_missing_regions_are_refused(bad):
    with pytest.raises(RegionError):
        slanted_edge(bad, 100.0)
