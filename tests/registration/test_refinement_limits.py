"""Images and homographies that cannot be refined."""

import cv2
import numpy as np
import pytest

from dotloupe.errors import InputError
from dotloupe.registration.refinement import refine_homography, rms_shift
from dotloupe.registration.window_shifts import WindowShifts
from dotloupe.registration.working_resolution import prepare_level

RNG = np.random.default_rng(0)
NOISE = RNG.uniform(0.2, 0.8, (64, 80)).astype(np.float32)


@pytest.mark.parametrize(
    ("homography", "says"),
    [
        (np.diag([1.0, 0.0, 1.0]), "The homography to refine is singular"),
        (
            np.array([[1, 0, 900.0], [0, 1, 0], [0, 0, 1]]),
            "The homography to refine puts the frame outside the reference.",
        ),
    ],
)
def test_homographies_that_map_a_frame_nowhere(homography, says):
    with pytest.raises(InputError) as caught:
        prepare_level(NOISE, NOISE, homography)
    assert str(caught.value).startswith(says)


@pytest.mark.parametrize(
    ("image", "says"),
    [
        (NOISE[:7], "The observed image must be 2-D and at least 8 x 8 pixels."),
        (
            np.where(NOISE > 0.79, np.nan, NOISE),
            "The observed image holds values that are not finite; crop or fill them.",
        ),
    ],
)
def test_images_that_cannot_be_refined(image, says):
    with pytest.raises(InputError) as caught:
        refine_homography(image, NOISE, np.eye(3))
    assert str(caught.value) == says


def test_whole_numbers_are_light_too():
    smooth = cv2.GaussianBlur(NOISE, (0, 0), 1.5)
    counts = np.round(1000 * smooth).astype(np.int64)
    found = refine_homography(counts, smooth, np.array([[1, 0, 0.4], [0, 1, -0.3], [0, 0, 1]]))
    # rounding to 1 of about 30 of contrast
    assert found.homography == pytest.approx(np.eye(3), abs=0.02)


def test_windows_that_say_nothing_leave_the_shift_open():
    nothing = WindowShifts(
        centres=np.zeros((2, 2)),
        shifts=np.ones((2, 2)),
        covariance=np.broadcast_to(np.eye(2), (2, 2, 2)),
        correlation=np.zeros(2),
        window_px=32.0,
        step_px=1.0,
    )
    assert rms_shift(nothing, np.ones(2, bool)) == np.inf
