"""The noise power spectrum against closed forms: white noise, planes, random discs."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.special import j0

from dotloupe.measure.grain.noise_spectrum import noise_spectrum
from dotloupe.measure.grain.ring_spectrum import integrate, radial_mean


def disc_area_px(radius_px):
    """Grid points inside a disc: its area as drawn."""
    reach = int(radius_px) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    return int(np.sum(x * x + y * y <= radius_px * radius_px))


def random_discs(coverage, radius_px, side_px, seed, average=1):
    """Boolean model drawn on a grid: 0 in the discs and 1 between, means of average^2 points."""
    rng = np.random.default_rng(seed)
    chance = -np.expm1(np.log1p(-coverage) / disc_area_px(radius_px))
    pad = int(radius_px) + 2
    side = side_px * average
    centres = rng.random((side + 2 * pad, side + 2 * pad), dtype=np.float32) < chance
    distance = cv2.distanceTransform(
        (~centres).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE
    )[pad:-pad, pad:-pad]
    field = (distance > radius_px + 1e-3).astype(np.float32)
    return field.reshape(side_px, average, side_px, average).mean(axis=(1, 3))


def disc_spectrum(coverage, frequency):
    """Closed form of the Boolean model for discs of diameter 1 (Newson et al. 2017, from memory).

    C(r) = (1 - p)^2 (exp(lambda g(r)) - 1), g the overlap of two discs, and its transform.
    """
    r = (np.arange(2000) + 0.5) / 2000
    overlap = 2 / np.pi * (np.arccos(r) - r * np.sqrt(1 - r * r))
    covariance = (1 - coverage) ** 2 * np.expm1(-np.log1p(-coverage) * overlap)
    kernel = j0(2 * np.pi * np.asarray(frequency)[:, None] * r)
    return kernel @ (covariance * 2 * np.pi * r) / 2000


def test_closed_form_of_discs_against_the_reference_values(outside_check):
    # W(0)/a at p = 0.1, 0.2, 0.3, 0.5, 0.7: derived in the references, four digits.
    got = [disc_spectrum(p, [0.0])[0] / (np.pi / 4) for p in (0.1, 0.2, 0.3, 0.5, 0.7)]
    outside_check(
        "noise power at zero of random discs, over a disc's area, coverage 0.1 to 0.7",
        "Boolean model, Newson et al. 2017, four digits",
        [0.0875, 0.1505, 0.1901, 0.2050, 0.1469],
        got,
        abs=6e-5,
        memory=True,
    )


@pytest.mark.parametrize("coverage", [0.1, 0.2, 0.3, 0.5, 0.7])
def test_discs_level_and_integral(coverage, outside_check):
    radius, side = 4.0, 1300
    diameter = 2 * np.sqrt(disc_area_px(radius) / np.pi)
    levels, variances = [], []
    for seed in (0, 1):
        field = random_discs(coverage, radius, side, seed)
        rings = noise_spectrum(field, 1.0).rings
        covered = 1 - float(field.mean())
        low = rings.frequency < 0.6 / diameter
        truth = disc_spectrum(coverage, rings.frequency[low] * diameter) * diameter**2
        area = rings.area[low]
        levels.append(np.sum(area * rings.power[low]) / np.sum(area * truth))
        variances.append(integrate(rings).value / (covered * (1 - covered)))
    # 15,000 values a seed below 0.6/d: random error of the mean 0.7 %
    source = "Boolean model, Newson et al. 2017"
    claim = f"noise power of random discs over the closed form, coverage {coverage:g}"
    outside_check(claim, source, 1.0, np.mean(levels), abs=0.02, memory=True)
    # p as the field has it: at p = 0.1 chance alone moves p(1 - p) by 1 % from field to field
    claim = f"variance of random discs over p (1 - p), coverage {coverage:g}"
    outside_check(claim, "closed form", 1.0, np.mean(variances), abs=0.01)


def test_discs_first_zero(outside_check):
    # [2 J1(x)/x]^2 with x = pi d f at low coverage: first zero at 1.2197/d, 40.66 cycles/mm for
    # 30 um (derived). Found as the bottom of a parabola over 8 % to both sides.
    pixels_per_mm = 250.0
    field = random_discs(0.05, 15.0, 900, seed=2, average=4)
    radial = radial_mean(noise_spectrum(field, pixels_per_mm).rings)
    zero = 1.2197 / 0.030
    near = np.abs(radial.frequency / zero - 1) < 0.08
    curve = np.polyfit(radial.frequency[near] / zero - 1, radial.power[near], 2)
    assert zero == pytest.approx(40.66, abs=0.006)
    claim = "first zero of the spectrum of discs of 30 um, cycles/mm"
    found = zero * (1 - curve[1] / (2 * curve[0]))
    outside_check(claim, "closed form, first zero of J1", zero, found, rel=0.02)
    # and it is a zero: what is left there is under 2 % of the level at low frequency
    assert np.polyval(curve, 0) < 0.02 * radial.power[:20].mean()


@pytest.mark.parametrize("shape", [(127, 127), (90, 200), (331, 97)])
def test_white_noise_level_is_variance_over_sampling(shape, outside_check):
    # Definition of the spectrum; lengths that the transform pads included.
    pixels_per_mm = 30.0
    levels, variances = [], []
    for seed in range(30):
        field = 0.5 + 0.01 * np.random.default_rng(seed).standard_normal(shape)
        spectrum = noise_spectrum(field, pixels_per_mm)
        radial = radial_mean(spectrum.rings)
        middle = (radial.frequency > 2) & (radial.frequency < 14)
        levels.append(radial.power[middle].mean() * pixels_per_mm**2 / 0.01**2)
        variances.append(integrate(spectrum.rings).value / 0.01**2)
    # 30 fields of 12,000 values: 0.3 %
    what = f"white noise over its variance and sampling, {shape[0]} x {shape[1]} pixels"
    outside_check(f"noise power of {what}", "definition", 1, np.mean(levels), abs=0.01)
    outside_check(f"integral of {what}", "definition", 1, np.mean(variances), abs=0.01)


def test_detrending_takes_light_and_gives_noise_back():
    # White noise under a steep plane: the lowest frequencies keep their level.
    n, pixels_per_mm = 128, 40.0
    y, x = np.mgrid[:n, :n] / n
    lowest, transfers = [], []
    for seed in range(300):
        noise = 0.01 * np.random.default_rng(seed).standard_normal((n, n))
        spectrum = noise_spectrum(0.5 + 0.3 * x - 0.2 * y + noise, pixels_per_mm)
        inside = spectrum.rings.frequency < 1.5 / (n / pixels_per_mm)
        area = spectrum.rings.area[inside]
        lowest.append(np.average(spectrum.rings.power[inside], weights=area))
        transfers.append(spectrum.trend_transfer[0, 0])
    # 300 fields of about 7 values each: 2.2 % random error
    assert np.mean(lowest) * pixels_per_mm**2 / 0.01**2 == pytest.approx(1, abs=0.07)
    # without giving back, the value at zero would have lost this much
    assert transfers[0] < 0.6


def test_second_shot_cancels_what_is_not_common(outside_check):
    # White print and white camera noise of five times its power: 20 pairs, 0.4 to 10 cycles/mm
    # hold 45,000 values a pair, so the common power is known to 0.45 %.
    n, pixels_per_mm = 635, 50.0
    ratios = []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        print_ = rng.standard_normal((n, n), dtype=np.float32)
        shots = [print_ + 5**0.5 * rng.standard_normal((n, n), dtype=np.float32) for _ in range(2)]
        radial = radial_mean(noise_spectrum(shots[0], pixels_per_mm, second_shot=shots[1]).rings)
        band = (radial.frequency >= 0.4) & (radial.frequency <= 10)
        power = np.average(radial.power[band], weights=radial.frequency[band])
        ratios.append(power * pixels_per_mm**2)
    claim = "print's noise power from two shots under five times as much camera noise"
    outside_check(claim, "definition", 1, np.mean(ratios), abs=0.03)


def test_residual_shift_is_undone_in_the_phase():
    # A field moved by a known fraction of a pixel, exactly, in the frequency domain.
    rng = np.random.default_rng(4)
    n = 256
    field = rng.standard_normal((n, n))
    turn = np.exp(
        -2j * np.pi * (np.fft.fftfreq(n)[:, None] * -0.4 + np.fft.rfftfreq(n)[None, :] * 0.3)
    )
    moved = np.fft.irfft2(np.fft.rfft2(field) * turn, (n, n))
    alone = radial_mean(noise_spectrum(field, 20.0).rings)
    undone = radial_mean(noise_spectrum(field, 20.0, second_shot=moved, shift_px=(0.3, -0.4)).rings)
    left = radial_mean(noise_spectrum(field, 20.0, second_shot=moved).rings)
    # the taper sees slightly different pixels: 1 % of the mean over rings
    below = alone.frequency < 9
    np.testing.assert_allclose(undone.power[below], alone.power[below], rtol=0.03)
    assert left.power[below][-5:].mean() < 0.6 * alone.power[below][-5:].mean()
