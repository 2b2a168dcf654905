"""Sharpening for a response: closed forms of its parts, and its bounds whatever the response."""

import numpy as np
import pytest

from dotloupe.prepare.sharpening import (
    DESIGN_HALO,
    MOST_GAIN,
    MOST_HALO,
    SmoothResponse,
    UnsharpMask,
    axis_sharpening,
    edge_overshoot,
    nearest_unsharp_mask,
    sharpening_kernel,
)

PPI = 600.0
F = np.arange(0, 11.76, 0.25)
ERROR = np.full(F.size, 0.01)
NYQUIST = PPI / 25.4 / 2


def gaussian(half):
    """Response that is half at `half` cycles/mm."""
    return np.exp2(-((F / half) ** 2))


@pytest.mark.parametrize("half", [3.0, 4.5, 6.0, 9.0])
def test_more_contrast_within_the_bounds(half):
    found = axis_sharpening(F, gaussian(half), ERROR, PPI)
    at_half = np.interp(half, found.frequency, found.after)
    assert at_half >= 1.25 * 0.5
    assert found.half_before == pytest.approx(half, rel=0.01)
    assert found.halo_after <= DESIGN_HALO < MOST_HALO
    assert found.gain.max() <= MOST_GAIN
    assert found.gain.min() >= 1 - 1e-3
    assert found.gain[0] == pytest.approx(1)
    assert found.gain[-1] == pytest.approx(1, abs=0.01)


def test_a_print_that_overshoots_already_is_sharpened_no_further():
    bump = 1 + 0.35 * np.exp(-(((F - 4) / 2) ** 2))
    found = axis_sharpening(F, gaussian(8.0) * bump, ERROR, PPI)
    assert found.halo_before > MOST_HALO
    assert found.halo_after <= found.halo_before + 1e-9


def test_beyond_what_the_camera_passes_nothing_is_raised():
    known = F <= 6.0
    found = axis_sharpening(F[known], gaussian(4.0)[known], ERROR[known], PPI)
    assert found.gain[found.frequency > 6.25].max() == pytest.approx(1, abs=0.01)
    assert found.gain.max() > 1.2


def test_overshoot_of_an_unsharp_mask(outside_check):
    """Phi(x/g) + A (Phi(x/g) - Phi(x/h)) of a Gaussian g, an amount A and a radius s.

    h is g and s in square sum.
    """
    from scipy.stats import norm

    sigma, amount, radius = 0.05, 1.2, 0.06
    curve = SmoothResponse.through(F, np.exp(-2 * (np.pi * sigma * F) ** 2), ERROR)
    ppi = 1500.0  # file pixels small against the blur
    f = np.arange(0, ppi / 50.8, 0.05)
    got = edge_overshoot(curve, f, UnsharpMask(amount, radius).gain(f)[None], ppi)[0]
    x = np.linspace(0, 0.5, 5001)
    pixel = np.sqrt(sigma**2 + (25.4 / ppi) ** 2 / 12)
    wide = np.hypot(pixel, radius)
    edge = norm.cdf(x / pixel) + amount * (norm.cdf(x / pixel) - norm.cdf(x / wide))
    outside_check(
        "overshoot of an edge under a Gaussian, an unsharp mask and the file's pixels",
        "closed form of normal integrals (SciPy)",
        edge.max() - 1,
        got,
        rel=0.01,
    )


def test_an_unsharp_mask_is_found_again():
    mask = UnsharpMask(0.8, 0.05)
    f = np.arange(0, NYQUIST, 0.05)
    found = nearest_unsharp_mask(f, np.exp2(-((f / 6) ** 2)), mask.gain(f))
    assert found.amount == pytest.approx(0.8, rel=0.05)
    assert found.radius_mm == pytest.approx(0.05, rel=0.05)


def test_the_kernel_does_what_the_gain_says_each_direction_its_own():
    x, y = (axis_sharpening(F, gaussian(half), ERROR, PPI) for half in (4.0, 6.0))
    kernel = sharpening_kernel(x, y, PPI)
    assert kernel.sum() == pytest.approx(1)
    assert kernel == pytest.approx(kernel[::-1, ::-1])
    place = np.arange(len(kernel)) - len(kernel) // 2
    for found, axis in ((x, 0), (y, 1)):
        waves = np.cos(2 * np.pi * found.frequency[:, None] * place * 25.4 / PPI)
        assert waves @ kernel.sum(axis=axis) == pytest.approx(found.gain, abs=0.02)


def test_a_noisy_response_is_smoothed():
    rng = np.random.default_rng(1)
    true = gaussian(5.0)
    error = np.full(F.size, 0.03)
    curve = SmoothResponse.through(F, true + rng.normal(0, 0.03, F.size), error)
    assert curve(F[F < 8]) == pytest.approx(true[F < 8], abs=0.03)
    assert curve(np.array([0.0])) == pytest.approx(1)
    beyond = curve(np.array([11.0, 13.0, 20.0]))
    assert (np.diff(beyond) <= 0).all()
