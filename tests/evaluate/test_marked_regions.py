"""Regions marked by hand on a photograph of an own picture: found again, and measured to scale."""

import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.errors import RegionError
from dotloupe.evaluate.cautions import RegionNotMeasured
from dotloupe.evaluate.marked_regions import MarkedRegion, _cut, measure_marked, region_on_picture
from dotloupe.registration.homography import map_points

PPI = 254.0
"""Ten pixels of the picture per mm."""
SCALE = 3.0
SIGMA_UM = 60.0
SLOPE = np.tan(np.deg2rad(5.0))
EDGE = MarkedRegion("edge", 20.0, 20.0, 60.0, 90.0)
TONE = MarkedRegion("tone", 90.0, 20.0, 150.0, 90.0)


def photographed(turn=0):
    """A Gaussian edge (half of its contrast at 0.1874/sigma) and a tone with grain, 30 px/mm.

    The MTF of a Gaussian of standard deviation s is exp(-2 (pi s f)^2), which is 0.5 at
    f = sqrt(ln 2 / 2) / (pi s).
    """
    from scipy.special import ndtr

    rows, columns = 330, 510
    y, x = np.mgrid[:rows, :columns] / (SCALE * 10)
    across = (x - 4.0 - SLOPE * (y - 5.5)) * np.cos(np.deg2rad(5.0))
    light = 0.2 + 0.6 * ndtr(across / (SIGMA_UM / 1000))
    rng = np.random.default_rng(3)
    light = light + 0.004 * rng.standard_normal(light.shape)
    light[:, 260:] = 0.5 + 0.05 * rng.standard_normal((rows, columns - 260))
    pixels = np.round(65535 * np.clip(light, 0, 1)).astype(np.uint16)[..., None].repeat(3, axis=2)
    to_picture = np.diag([1 / SCALE, 1 / SCALE, 1.0])
    if turn:
        # a quarter turn: the photograph's x runs down the picture
        pixels = np.ascontiguousarray(np.rot90(pixels, -1))
        turned = np.array([[0, 1, 0], [-1, 0, rows - 1], [0, 0, 1.0]])
        to_picture = to_picture @ turned
    curve = (np.arange(65536) / 65535).astype(np.float32)
    return Capture("own.tif", "0" * 64, pixels, curve, np.ones(3, np.float32)), to_picture


@pytest.mark.parametrize("turn", [0, 1])
def test_edge_and_tone_are_measured_in_mm_of_the_print(turn):
    capture, homography = photographed(turn)
    found = measure_marked(capture, homography, PPI, (EDGE, TONE))
    assert found.fit
    assert set(found.numbers) == {"detail_x", "grain"}
    detail = found.numbers["detail_x"]
    expected = np.sqrt(np.log(2) / 2) / (np.pi * SIGMA_UM / 1000)
    # a pixel of 1/30 mm takes sinc(f/30): under 2 % at 3 cycles/mm; noise adds under 1 %
    assert detail.value == pytest.approx(expected, rel=0.03)
    assert detail.low < detail.value < detail.high
    assert detail.unit == "cycles/mm"
    assert found.numbers["grain"].value > 0


def test_a_region_is_carried_over_and_back():
    capture, homography = photographed()
    corners = np.array([[x, y] for x in (60.0, 180.0) for y in (60.0, 270.0)])
    region = region_on_picture("edge", corners, homography)
    assert (region.left, region.top, region.right, region.bottom) == (20.0, 20.0, 60.0, 90.0)
    light, per_mm = _cut(capture, homography, PPI, region)
    assert light.shape == (211, 121)
    assert per_mm == pytest.approx(30.0)
    back = map_points(np.linalg.inv(homography), region.corners)
    assert back == pytest.approx(corners)


def test_regions_that_hold_something_else_are_named():
    capture, homography = photographed()
    found = measure_marked(capture, homography, PPI, (MarkedRegion("edge", 90, 20, 150, 90),))
    assert not found.fit
    assert [r.region for r in found.reasons] == ["edge 1"]
    outside = MarkedRegion("tone", 100.0, 20.0, 400.0, 90.0)
    with pytest.raises(RegionError, match="outside this photograph"):
        _cut(capture, homography, PPI, outside)
    width, height = ((n - 1) / SCALE for n in (capture.shape[1], capture.shape[0]))
    whole = (0.0, 0.0, width, height)
    assert _cut(capture, homography, PPI, MarkedRegion("tone", *whole))[0].shape == capture.shape
    for side, step in enumerate((-1.0, -1.0, 1.0, 1.0)):
        beyond = [v + step / SCALE * (i == side) for i, v in enumerate(whole)]
        with pytest.raises(RegionError, match="outside this photograph"):
            _cut(capture, homography, PPI, MarkedRegion("tone", *beyond))
    assert measure_marked(capture, homography, PPI, (outside,)).reasons == (
        RegionNotMeasured("tone 1", "the region lies outside this photograph"),
    )
