"""Marks and codes that cannot be used, on arrays of a few pixels."""

import numpy as np

from dotloupe.capture.capture import Capture
from dotloupe.patch.corner_marks import LAST_RUN
from dotloupe.registration.code_reading import _decode, read_code
from dotloupe.registration.mark_search import _corners_by_run, _plane
from dotloupe.registration.reduced_images import preview_8bit

LINEAR = np.linspace(0, 1, 256, dtype=np.float32)


def capture_of(pixels):
    return Capture("a.png", "0" * 64, pixels, LINEAR, np.ones(3))


def even_capture(shape=(200, 300)):
    return capture_of(np.full((*shape, 3), 255, np.uint8))


def test_a_code_off_the_frame_or_without_contrast_is_unread():
    assert _decode(np.full((21, 21), 0.5)) == ""
    far = np.array([[0.02, 0, 100.0], [0, 0.02, 100.0], [0, 0, 1]])
    assert read_code(even_capture(), far, 0) is None


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
