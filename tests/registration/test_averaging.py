"""Finely sampled captures averaged: the transfer that is left, and where the pixels then lie."""

import numpy as np
import pytest
from scipy.special import ndtr

from dotloupe import slanted_edge
from dotloupe.capture.capture import Capture
from dotloupe.capture.paper_level import Lighting
from dotloupe.patch.region import Region
from dotloupe.registration.averaging import FLAT_TO, REACH, averaged, averaging_step
from dotloupe.registration.cutting import cut_region
from dotloupe.registration.homography import map_points

LINEAR = np.linspace(0, 1, 65536, dtype=np.float32)


@pytest.mark.parametrize(("per_mm", "step"), [(80, 1), (127, 1), (128, 2), (204, 3), (300, 4)])
def test_averaging_leaves_64_pixels_to_the_mm(per_mm, step):
    assert averaging_step(per_mm) == step


@pytest.mark.parametrize("step", [2, 3, 4, 6])
@pytest.mark.parametrize("cycles", [0.05, 0.2, FLAT_TO])
def test_waves_keep_their_modulation(step, cycles):
    """A wave of the capture is a wave of the same modulation and phase at each block's middle.

    The design leaves 0.07 % at the end of the range (least squares over nine taps); without the
    filter the mean of three takes 3 to 19 %.
    """
    x = np.arange(60 * step)
    wave = np.cos(2 * np.pi * cycles / step * x + 0.4)
    light = (0.5 + 0.3 * wave[None, :, None] + 0.1 * wave[:, None, None] * [1, 0, 2]).astype("f4")
    middle = (np.arange(60) + 0.5) * step - 0.5
    seen = np.cos(2 * np.pi * cycles / step * middle + 0.4)
    expected = 0.5 + 0.3 * seen[None, :, None] + 0.1 * seen[:, None, None] * [1, 0, 2]
    inner = slice(REACH, -REACH)
    found = averaged(light, step)
    assert np.abs(found - expected)[inner, inner].max() < 0.3 * 0.0012


@pytest.mark.parametrize("sigma_px", [6.0, 10.0])
def test_edge_keeps_its_mtf50(sigma_px):
    """A Gaussian edge has MTF50 = 0.18739 / sigma: averaging three pixels changes it by < 0.1 %.

    Averaging alone would lower it by 0.7 % at 6 px of sigma.
    """
    rows, columns = 600, 480
    y, x = np.mgrid[:rows, :columns]
    slope = np.tan(np.radians(5.0))
    across = (x - columns / 2 - slope * (y - rows / 2)) * np.cos(np.radians(5.0))
    # The square pixel's own variance is part of sigma.
    blur = np.sqrt(sigma_px**2 - 1 / 12)
    light = (0.64 - 0.48 * ndtr(across / blur)).astype(np.float32)
    found = averaged(np.ascontiguousarray(light[..., None]), 3)[REACH:-REACH, REACH:-REACH]
    per_mm = 240.0
    reached = slanted_edge(np.squeeze(found), per_mm / 3)
    exact = slanted_edge(light, per_mm)
    assert reached.mtf50 == pytest.approx(exact.mtf50, rel=1e-3)
    assert reached.mtf50 == pytest.approx(0.18739 / sigma_px * per_mm, rel=4e-3)


@pytest.mark.parametrize("turn_deg", [1.0, 91.0, -179.0, -91.5])
@pytest.mark.parametrize("step", [1, 2, 3])
def test_cut_says_where_its_pixels_lie(turn_deg, step):
    """A smooth hill of known light on the patch is read at the places that the cut names.

    The hill changes by at most 0.12 in a pixel of 1/40 mm: 2e-3 is a sixtieth of a pixel.
    """
    per_mm, angle = 40.0, np.radians(turn_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    homography = np.eye(3)
    homography[:2, :2] = turn.T / per_mm
    homography[:2, 2] = -homography[:2, :2] @ (150.0, 130.0)

    def hill(points_mm):
        return 0.2 + 0.6 * np.exp(-0.5 * np.sum((points_mm - (0.3, -0.2)) ** 2, axis=-1) / 0.2)

    y, x = np.mgrid[:260, :300]
    frame = hill(map_points(homography, np.column_stack([x.ravel(), y.ravel()]))).reshape(x.shape)
    pixels = np.round(65535 * frame[..., None].repeat(3, axis=2)).astype(np.uint16)
    capture = Capture("hill.tif", "", pixels, LINEAR, np.ones(3))
    even = Lighting(np.zeros((10, 3)), (150.0, 130.0), 150.0, 0.0, 0.0)
    region = Region("hill", "tint", -1.5, -1.0, 3.0, 2.0)
    cut = cut_region(capture, homography, even, region, step=step)
    rows, columns = cut.luminance.shape
    assert columns == pytest.approx(3.0 * per_mm / step, abs=2)
    assert rows == pytest.approx(2.0 * per_mm / step, abs=2)
    assert cut.pixels_per_mm_x == pytest.approx(per_mm / step)
    i, j = np.mgrid[:rows, :columns]
    places = map_points(cut.homography, np.column_stack([j.ravel(), i.ravel()]))
    assert np.abs(cut.luminance.ravel() - hill(places)).max() < 2e-3
    centre = map_points(cut.homography, np.array([cut.centre_px]))[0]
    assert np.allclose(centre, region.centre_mm, atol=1e-6)


def test_cut_at_the_frames_corner_has_no_rim_to_spare():
    pixels = np.full((120, 160, 3), 30000, dtype=np.uint16)
    capture = Capture("even.tif", "", pixels, LINEAR, np.full(3, 0.5))
    even = Lighting(np.zeros((10, 3)), (80.0, 60.0), 80.0, 0.0, 0.0)
    homography = np.diag([1 / 40, 1 / 40, 1.0])
    region = Region("corner", "tint", 0.03, 0.03, 3.9, 2.9)
    cut = cut_region(capture, homography, even, region, step=3)
    assert np.allclose(cut.reflectance, 30000 / 65535 / 0.5, rtol=1e-5)
