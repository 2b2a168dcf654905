"""The vision functions against published values and a colour library."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from colour.contrast import contrast_sensitivity_function_Barten1999 as barten_library
from colour.contrast import pupil_diameter_Barten1999 as pupil_library
from colour.contrast import retinal_illuminance_Barten1999 as illuminance_library
from colour.contrast import sigma_Barten1999 as sigma_library
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from dotloupe.measure import seeing


def peak_of(function):
    found = minimize_scalar(
        lambda f: -float(function(f)), bounds=(1, 20), method="bounded", options={"xatol": 1e-7}
    )
    return found.x, -found.fun


def test_cycles_per_degree_against_one_arc_minute():
    # 30 cycles/degree = 6.88, 5.73, 4.91 lp/mm at 250, 300, 350 mm: derived from the angle.
    got = [float(seeing.cycles_per_mm(30, d)) for d in (250, 300, 350)]
    np.testing.assert_allclose(got, [6.88, 5.73, 4.91], atol=0.006)
    np.testing.assert_allclose(seeing.cycles_per_degree(got, 300), np.array(got) * 300 / 57.29578)


def test_lightness_against_colour_science():
    y = np.linspace(0, 1.2, 241)
    np.testing.assert_allclose(
        seeing.lightness(y), colour.colorimetry.lightness_CIE1976(y * 100, 100), atol=1e-9
    )


def test_lightness_slope_is_the_derivative():
    y = np.array([0.002, 0.006, 0.02, 0.1, 0.18, 0.5, 1.0])
    step = 1e-6
    numeric = (seeing.lightness(y + step) - seeing.lightness(y - step)) / (2 * step)
    np.testing.assert_allclose(seeing.lightness_slope(y), numeric, rtol=1e-6)


def test_barten_against_the_reference_values():
    # colour-science 0.4.7 with its defaults, to the two decimals held.
    got = seeing.barten_sensitivity([1, 2, 4, 8, 16, 30])
    np.testing.assert_allclose(got, [500.39, 525.92, 360.869, 186.16, 70.97, 14.21], atol=0.006)


@pytest.mark.parametrize(("luminance", "field"), [(0.5, 10), (20, 60), (100, 10), (140, 4)])
def test_barten_against_colour_science_at_other_conditions(luminance, field):
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
    np.testing.assert_allclose(got, expected, rtol=1e-10)


def test_mannos_sakrison_peak():
    # Mannos and Sakrison 1974: peak 0.9809 at 7.891 cycles/degree.
    assert peak_of(seeing.mannos_sakrison_sensitivity) == pytest.approx((7.891, 0.9809), abs=6e-4)


def test_dooley_shaw_values():
    # From memory, self-checking: the peak is 1 to four digits.
    assert peak_of(seeing.dooley_shaw_transfer) == pytest.approx((5.450, 1.0002), abs=6e-4)
    np.testing.assert_allclose(
        seeing.dooley_shaw_transfer([1, 2, 10, 20, 40]),
        [0.4186, 0.6946, 0.8031, 0.2764, 0.0199],
        atol=6e-5,
    )
    np.testing.assert_allclose(
        seeing.dooley_shaw_lightness_weight([0.5, 1.0]), [0.4066, 0.1653], atol=6e-5
    )


def test_ieee1858_peak_and_area():
    # From memory: peak 102.16 at exactly 4, area 1265.72.
    assert peak_of(seeing.ieee1858_sensitivity) == pytest.approx((4.0, 102.16), abs=0.006)
    area = quad(lambda f: float(seeing.ieee1858_sensitivity(f)), 0, np.inf)[0]
    assert area == pytest.approx(1265.72, abs=0.006)


@pytest.mark.parametrize(
    ("mtf50", "acutance", "quality"),
    [(5, 0.3366, 0.3758), (10, 0.6094, 0.7353), (20, 0.8386, 0.9209), (30, 0.9167, 0.9636)],
)
def test_acutance_and_quality_factor_of_a_gaussian(mtf50, acutance, quality):
    f = np.linspace(0, 120, 24001)
    mtf = np.exp(-np.log(2) * (f / mtf50) ** 2)
    # Reference values to four digits, from memory.
    assert seeing.acutance(f, mtf) == pytest.approx(acutance, abs=6e-5)
    assert seeing.subjective_quality_factor(f, mtf) == pytest.approx(quality, abs=6e-5)


def test_quality_factor_refuses_a_short_band():
    with pytest.raises(ValueError, match="3 to 12"):
        seeing.subjective_quality_factor([0, 5, 10], [1, 0.8, 0.6])


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
