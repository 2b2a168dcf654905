"""Cuts and pictures of a patch that lies turned, or beside the frame."""

import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.errors import RegionError
from dotloupe.patch.patch import Patch
from dotloupe.registration.cutting import cut_region
from dotloupe.registration.patch_image import SMALL_PER_MM, patch_picture, small_picture

LINEAR = np.linspace(0, 1, 256, dtype=np.float32)


def capture_of(pixels):
    return Capture("a.png", "0" * 64, pixels, LINEAR, np.ones(3))


def even_capture(shape=(200, 300)):
    return capture_of(np.full((*shape, 3), 255, np.uint8))


def test_a_patch_far_from_upright_is_refused():
    angle = np.deg2rad(30)
    turned = np.array(
        [[np.cos(angle), np.sin(angle), 0], [-np.sin(angle), np.cos(angle), 0], [0, 0, 40.0]]
    )
    region = Patch(600).regions["code"]
    with pytest.raises(RegionError) as caught:
        cut_region(even_capture(), turned, None, region)
    assert str(caught.value) == "the patch is turned by 30 degrees; turn the sheet or the camera"


def test_a_patch_beside_the_frame_has_no_light():
    beside = np.array([[0.02, 0, 50.0], [0, 0.02, 0], [0, 0, 1]])
    light = patch_picture(
        even_capture(), beside, None, box_mm=(0.0, 0.0, 2.0, 1.0), pixels_per_mm=10.0
    )
    assert light.shape == (10, 20, 3)
    assert not light.any()


def test_a_small_picture_of_blank_paper_is_blank():
    class Even:
        def over_grid(self, x, y):
            return np.ones((len(y), len(x), 1), np.float32)

    found = small_picture(
        even_capture((400, 500)), 0.02 * np.eye(3) + np.diag([0, 0, 0.98]), Even(), (6.0, 4.0)
    )
    assert found.pixels_per_mm == SMALL_PER_MM
    assert found.reflectance.shape == (round(4 * SMALL_PER_MM), round(6 * SMALL_PER_MM), 3)
    assert found.reflectance == pytest.approx(1.0, abs=1e-3)
