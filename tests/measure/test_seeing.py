"""The vision functions against published values and a colour library."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from colour.contrast import (
    contrast_sensitivity_function_Barten1999 as barten_library,
    pupil_diameter_Barten1999 as pupil_library,
    retinal_illuminance_Barten1999 as illuminance_library,
    sigma_Barten1999 as sigma_library,
)
from scipy.optimize import minimize_scalar

from dotloupe.measure import seeing


def peak_of(function):
    found = minimize_scalar(
        lambda f: -float(function(f)), bounds=(1, 20), method="bounded", options={"xatol": 1e-7}
    )
    return found.x, -found.fun


def test_cycles_per_degree_against_one_arc_minute(outside_check):
    # 30 cycles/degree = 6.88, 5.73, 4.91 lp/mm at 250, 300, 350 mm: derived from the angle.
    got = [float(seeing.cycles_per_mm(30, d)) for d in (250, 300, 350)]
    claim = "30 cycles/degree in cycles/mm from 250, 300 and 350 mm"
    outside_check(claim, "closed form, one arc minute", [6.88, 5.73, 4.91], got, abs=0.006)
    np.testing.assert_allclose(seeing.cycles_per_degree(got, 300), np.array(got) * 300 / 57.29578)


def test_lightness_against_colour_science(outside_check):
    y = np.linspace(0, 1.2, 241)
    library = colour.colorimetry.lightness_CIE1976(y * 100, 100)
    claim = "CIE 1976 lightness of luminance factors from 0 to 1.2"
    outside_check(claim, "colour-science", library, seeing.lightness(y), abs=1e-9)


def test_lightness_slope_is_the_derivative():
    y = np.array([0.002, 0.006, 0.02, 0.1, 0.18, 0.5, 1.0])
    step = 1e-6
    numeric = (seeing.lightness(y + step) - seeing.lightness(y - step)) / (2 * step)
    np.testing.assert_allclose(seeing.lightness_slope(y), numeric, rtol=1e-6)


def test_barten_against_the_reference_values(outside_check):
    # colour-science 0.4.7 with its defaults, to the two decimals held.
    got = seeing.barten_sensitivity([1, 2, 4, 8, 16, 30])
    kept = [500.39, 525.92, 360.869, 186.16, 70.97, 14.21]
    claim = "Barten's contrast sensitivity at 1, 2, 4, 8, 16 and 30 cycles/degree"
    outside_check(claim, "colour-science 0.4.7, two decimals kept", kept, got, abs=0.006)


@pytest.mark.parametrize(("luminance", "field"), [(0.5, 10), (20, 60), (100, 10), (140, 4)])
def test_barten_against_colour_science_at_other_conditions(luminance, field, outside_check):
    f = np.geomspace(0.3, 50, 40)
    pupil = seeing.barten_pupil_mm(luminance, field)
    assert pupil == pytest.approx(pupil_library(luminance, field), rel=1e-12)
    expected = barten_library(
        f,
        sigma=sigma_library(0.5 / 60, 0.08 / 60, pupil),
        X_0=field,
        E=illuminance_library(luminance, pupil),
    )
    got = seeing.barten_sensitivity(f, luminance=luminance, field_deg=field, pupil_mm=pupil)
    claim = f"Barten's contrast sensitivity at {luminance:g} cd/m2, field {field:g} degrees"
    outside_check(claim, "colour-science", expected, got, rel=1e-10)


def test_dooley_shaw_values(outside_check):
    # From memory, self-checking: the peak is 1 to four digits.
    source = "Dooley and Shaw 1979"
    peak = peak_of(seeing.dooley_shaw_transfer)
    for name, value, ours in zip(("place", "height"), (5.450, 1.0002), peak, strict=True):
        claim = f"{name} of the peak of the eye's transfer by Dooley and Shaw"
        outside_check(claim, source, value, ours, abs=6e-4, memory=True)
    outside_check(
        "eye's transfer by Dooley and Shaw at 1, 2, 10, 20 and 40 cycles/degree",
        source,
        [0.4186, 0.6946, 0.8031, 0.2764, 0.0199],
        seeing.dooley_shaw_transfer([1, 2, 10, 20, 40]),
        abs=6e-5,
        memory=True,
    )


@pytest.mark.parametrize("channel", ["luminance", "red-green", "blue-yellow"])
def test_scielab_transfer_is_the_transform_of_its_kernel(channel):
    # The kernel drawn in space and transformed numerically (Hankel transform of each Gaussian).
    r = np.linspace(0, 25, 250001)
    kernel = np.zeros_like(r)
    for weight, spread in seeing.SCIELAB_KERNELS[channel]:
        kernel += weight * np.exp(-((r / spread) ** 2)) / (np.pi * spread**2)
    from scipy.special import j0

    def transform(f):
        return np.trapezoid(kernel * j0(2 * np.pi * f * r) * 2 * np.pi * r, r)

    f = np.array([0.0, 0.05, 0.5, 2.0, 6.0, 15.0])
    expected = np.array([transform(v) for v in f]) / transform(0.0)
    np.testing.assert_allclose(seeing.scielab_transfer(f, channel), expected, atol=2e-5)
    assert seeing.scielab_transfer(0.0, channel) == pytest.approx(1.0)
