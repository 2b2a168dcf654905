"""The camera from one print at two distances, against cameras known in closed form."""

import numpy as np
import pytest
from scipy.special import j1

from dotloupe.errors import RegionError
from dotloupe.measure.ideal_camera import IdealCamera
from dotloupe.measure.scaled_camera import ScaledMtf, camera_by_scale

FREQUENCY = np.linspace(0.0, 30.0, 301)
NO_IDEAL = IdealCamera()
FAR, NEAR = 60.0, 105.0


def printed(mtf50: float) -> np.ndarray:
    """Print whose MTF falls as no power of the frequency does: 1 / (1 + (f / f50)^1.5)."""
    return 1.0 / (1.0 + (FREQUENCY / mtf50) ** 1.5)


def seen(print_mtf: np.ndarray, camera, per_mm: float) -> ScaledMtf:
    mtf = print_mtf * camera(FREQUENCY, per_mm)
    return ScaledMtf(FREQUENCY, mtf, 0.002 * np.ones_like(mtf), per_mm)


def found(camera, ideal=NO_IDEAL, *, ratio=NEAR / FAR):
    prints = [printed(mtf50) for mtf50 in (5.0, 6.0, 7.0, 9.0)]
    edges = [(seen(p, camera, FAR), seen(p, camera, ratio * FAR)) for p in prints]
    return camera_by_scale(edges, ideal)


@pytest.mark.parametrize("sigma_px", [0.2, 0.6, 1.0])
@pytest.mark.parametrize("ratio", [1.5, 2.5])
def test_a_gaussian_camera_comes_back_exactly(sigma_px, ratio):
    """exp(-2 pi^2 sigma^2 u^2) behind a square pixel; the prior costs less than 0.1 %."""

    def camera(frequency, per_mm):
        u = frequency / per_mm
        return np.sinc(u) * np.exp(-2.0 * (np.pi * sigma_px * u) ** 2)

    response = found(camera, ratio=ratio)
    curve = response.on_print(FAR)
    known = curve.frequency <= 0.3 * FAR
    true = camera(curve.frequency, FAR)
    assert curve.mtf[known] == pytest.approx(true[known], rel=1e-3)


def test_the_product_over_scales_is_the_same_camera(outside_check):
    """C(u) = Q(u) Q(u/r) Q(u/r^2) ...: derived, as C(0) = 1."""
    ratio, sigma_px = NEAR / FAR, 0.5

    def camera(frequency, per_mm):
        u = frequency / per_mm
        return np.sinc(u) * np.exp(-2.0 * (np.pi * sigma_px * u) ** 2)

    per_pixel = np.linspace(0.02, 0.25, 12)
    print_mtf = printed(6.0)

    def quotient(u):
        """Ratio of what is seen, which knows of no camera by itself."""
        one, other = (
            np.interp(u * FAR, FREQUENCY, print_mtf) * camera(u * FAR, s) for s in (FAR, NEAR)
        )
        return one / other

    product = np.prod([quotient(per_pixel / ratio**k) for k in range(40)], axis=0)
    curve = found(camera).on_print(FAR)
    ours = np.interp(per_pixel, curve.frequency / FAR, curve.mtf)
    outside_check(
        "camera from two distances against the product of the ratios over all scales",
        "derived, C(u) = Q(u) Q(u/r) Q(u/r^2) ...",
        product,
        ours,
        rel=2e-3,
    )


def test_a_camera_slightly_out_of_focus_comes_back():
    """Disc of 1.5 pixels, 2 J1(x)/x: its powers beyond the fourth are left out."""

    def camera(frequency, per_mm):
        x = np.pi * 1.5 * frequency / per_mm
        disc = np.where(x > 0, 2 * j1(x) / np.where(x > 0, x, 1), 1.0)
        return np.sinc(frequency / per_mm) * disc

    curve = found(camera).on_print(NEAR)
    known = curve.frequency <= 0.25 * NEAR
    true = camera(curve.frequency, NEAR)
    assert curve.mtf[known] == pytest.approx(true[known], rel=5e-3)


def test_diffraction_that_grows_with_magnification_is_corrected():
    """At f/11 and pixels of 4 um the working aperture goes from f/13.6 to f/15.6."""
    ideal = IdealCamera(f_number=11.0, pixel_pitch_um=4.0)

    def camera(frequency, per_mm):
        u = frequency / per_mm
        return ideal.mtf(frequency, per_mm) * np.exp(-2.0 * (np.pi * 0.4 * u) ** 2)

    for per_mm in (FAR, NEAR):
        true = camera(FREQUENCY, per_mm)
        known = 0.25 * per_mm >= FREQUENCY
        corrected, plain = (found(camera, how).on_print(per_mm) for how in (ideal, NO_IDEAL))
        for curve, right in ((corrected, True), (plain, False)):
            got = np.interp(FREQUENCY[known], curve.frequency, curve.mtf)
            assert bool(abs(got / true[known] - 1).max() < 2e-3) is right


def test_working_aperture_and_cutoff(outside_check):
    ideal = IdealCamera(f_number=8.0, pixel_pitch_um=5.0)
    assert ideal.working_f_number(100.0) == pytest.approx(8.0 * 1.5)
    cutoff_per_pixel = 5.0 / (0.55 * 8.0 * 1.5)
    per_pixel = 0.40397 * cutoff_per_pixel
    lens = ideal.mtf(np.array([100.0 * per_pixel]), 100.0) / np.sinc(per_pixel)
    outside_check(
        "ideal camera at 0.40397 of its cutoff, pixel taken out",
        "closed form, round pupil",
        0.5,
        lens[0],
        rel=1e-4,
    )


def test_too_few_edges_are_refused():
    def sharp(frequency, _per_mm):
        return np.ones_like(frequency)

    edge = (seen(printed(6.0), sharp, FAR), seen(printed(6.0), sharp, NEAR))
    assert camera_by_scale([edge] * 4, NO_IDEAL).degrees == 3
    with pytest.raises(RegionError, match="3 edges can be compared"):
        camera_by_scale([edge] * 3, NO_IDEAL)


def test_interval_grows_with_the_scatter_of_the_edges():
    rng = np.random.default_rng(3)

    def camera(frequency, per_mm):
        return np.exp(-2.0 * (np.pi * 0.5 * frequency / per_mm) ** 2)

    errors = []
    for scatter in (0.005, 0.04):
        edges = []
        for mtf50 in np.linspace(5, 9, 8):
            pair = []
            for per_mm in (FAR, NEAR):
                slope = rng.normal(0, scatter) * FREQUENCY / 10
                s = seen(printed(mtf50) * (1 + slope), camera, per_mm)
                pair.append(s)
            edges.append(tuple(pair))
        curve = camera_by_scale(edges, NO_IDEAL).on_print(NEAR)
        errors.append(float(np.interp(10.0, curve.frequency, curve.error)))
    assert errors[1] > 2 * errors[0] > 0
