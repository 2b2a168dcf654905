"""Marks and codes that cannot be used, on arrays of a few pixels."""

import cv2
import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.patch import Patch, code_modules, parse_code
from dotloupe.patch.corner_marks import LAST_RUN
from dotloupe.registration.code_reading import _decode, _sharpened, read_code
from dotloupe.registration.mark_search import _corners_by_run, _plane
from dotloupe.registration.reduced_images import preview_8bit

LINEAR = np.linspace(0, 1, 256, dtype=np.float32)


def capture_of(pixels):
    return Capture("a.png", "0" * 64, pixels, LINEAR, np.ones(3))


def even_capture(shape=(200, 300)):
    return capture_of(np.full((*shape, 3), 255, np.uint8))


@pytest.mark.parametrize("shift_mm", [(100, 100), (100, 0), (-100, 0), (0, 100), (0, -100)])
@pytest.mark.parametrize("pixel_mm", [0.02, 0.01])
def test_a_code_off_the_frame_is_unread(shift_mm, pixel_mm):
    to_mm = np.array([[pixel_mm, 0, shift_mm[0]], [0, pixel_mm, shift_mm[1]], [0, 0, 1]])
    assert read_code(even_capture((2000, 3000)), to_mm, 0) is None


def test_a_code_without_contrast_is_unread():
    assert _decode(np.full((21, 21), 0.5)) == ""


def test_a_code_is_read_through_a_blur_of_half_a_module():
    """Plain module values read few such codes: a blur brings neighbours into a module."""
    read, plain = 0, 0
    for run in range(20):
        code = Patch(300, run, kind="picture", corner_mm=(run, 3)).code
        fine = np.kron(np.pad(code_modules(code), 3, constant_values=1), np.ones((8, 8)))
        blurred = cv2.GaussianBlur(fine, (0, 0), 0.5 * 8)
        values = blurred[28::8, 28::8][:21, :21]
        plain += parse_code(_decode(values)) == code
        read += parse_code(_decode(_sharpened(values, 0.6))) == code
    assert read == 20
    assert plain < 10


def test_marks_of_no_run_are_left_aside():
    points = np.zeros((4, 2))
    found = _corners_by_run([(4 * LAST_RUN + 3, points), (4 * (LAST_RUN + 1), points)])
    assert list(found) == [LAST_RUN]
    assert list(found[LAST_RUN]) == [3]


def test_marks_all_in_one_place_lie_on_no_plane():
    assert _plane(np.zeros((16, 2)))[1] == np.inf


def test_a_preview_of_eight_bits_is_the_green_channel():
    pixels = np.zeros((40, 60, 3), np.uint8)
    pixels[..., 1] = 100
    image, scale = preview_8bit(capture_of(pixels), 30)
    assert (image.shape, scale) == ((20, 30), 0.5)
    assert np.all(image == 100)
