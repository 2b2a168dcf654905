"""What registration says, and gives, where a frame shows nothing, little or something torn."""

import cv2
import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.errors import InputError, NotFitError, RegionError
from dotloupe.patch.corner_marks import LAST_RUN
from dotloupe.patch.patch import Patch
from dotloupe.registration.code_reading import _decode, read_code
from dotloupe.registration.cutting import cut_region
from dotloupe.registration.homography import map_points
from dotloupe.registration.mark_search import _corners_by_run, _plane
from dotloupe.registration.patch_image import SMALL_PER_MM, patch_picture, small_picture
from dotloupe.registration.picture.features import find_features, propose_by_features
from dotloupe.registration.picture.grid import _largest_rectangle, _shared_rectangle
from dotloupe.registration.picture.repeats import find_repeats
from dotloupe.registration.picture.search import (
    PictureMatch,
    _not_found,
    _plausible,
    locate_picture,
)
from dotloupe.registration.picture.templates import _distinct, propose_by_templates
from dotloupe.registration.picture.verification import likeness_at
from dotloupe.registration.reduced_images import preview_8bit
from dotloupe.registration.refinement import refine_homography, rms_shift
from dotloupe.registration.window_shifts import WindowShifts
from dotloupe.registration.working_resolution import prepare_level

RNG = np.random.default_rng(0)
NOISE = RNG.uniform(0.2, 0.8, (64, 80)).astype(np.float32)
FLAT = np.full((64, 80), 0.5, np.float32)
LINEAR = np.linspace(0, 1, 256, dtype=np.float32)
HALF = np.array([[0.5, 0, 0], [0, 0.5, 0], [0, 0, 1.0]])


def capture_of(pixels):
    return Capture("a.png", "0" * 64, pixels, LINEAR, np.ones(3))


def even_capture(shape=(200, 300)):
    return capture_of(np.full((*shape, 3), 255, np.uint8))


@pytest.mark.parametrize(
    ("frame", "sent", "reason"),
    [
        (FLAT, NOISE, "The photograph is flat; there is nothing to hold on to."),
        (NOISE, FLAT, "The picture is flat; there is nothing to hold on to."),
    ],
)
def test_a_flat_picture_is_found_nowhere(frame, sent, reason):
    match = locate_picture(frame, sent)
    assert not match
    assert match.reason == reason
    with pytest.raises(NotFitError) as caught:
        _ = match.homography
    assert str(caught.value) == reason


@pytest.mark.parametrize(
    ("frame", "says"),
    [
        (
            NOISE[:31],
            "the photograph must be of at least 32 x 32 pixels in one channel, not (31, 80)",
        ),
        (
            np.where(NOISE > 0.79, np.nan, NOISE),
            "the photograph holds values that are not finite; crop or fill them",
        ),
    ],
)
def test_photographs_that_cannot_be_looked_for(frame, says):
    with pytest.raises(InputError) as caught:
        locate_picture(frame, NOISE)
    assert str(caught.value) == says


def test_nothing_alike_is_said_so():
    assert _not_found(None) == PictureMatch(
        False,
        "Nothing in the picture resembles the photograph; check that it is the picture sent and "
        "photograph a part with more detail.",
    )


@pytest.mark.parametrize(
    ("homography", "plausible"),
    [
        (HALF, True),
        # mirrored
        (HALF * [[-1], [1], [1]], False),
        # 2 pixels of the photograph a pixel of the picture is asked for within 1 and 10
        (HALF * [[4.2], [4.2], [1]], False),
        (HALF * [[0.15], [0.15], [1]], False),
        # one direction four times as large as the other; a photograph has three at most
        (HALF * [[0.5], [2], [1]], False),
        # the horizon runs through the frame
        (np.add(HALF, [[0, 0, 0], [0, 0, 0], [-0.02, 0, 0]]), False),
    ],
)
def test_what_a_camera_may_see(homography, plausible):
    assert _plausible(homography, (100, 100), (1.0, 10.0)) is plausible


def test_a_flat_image_has_no_features_and_few_features_propose_nothing():
    empty = find_features(FLAT, most_pixels=1e6, per_octave=100)
    assert empty.points.shape == (0, 2)
    assert propose_by_features(empty, empty, (0.1, 33.0)) == []
    some = find_features(cv2.GaussianBlur(NOISE, (0, 0), 2.0), most_pixels=1e6, per_octave=100)
    assert len(some.points) >= 4
    # an image against itself has a scale of 1 throughout
    assert propose_by_features(some, some, (5.0, 33.0)) == []


def test_a_black_frame_is_no_template():
    assert propose_by_templates(0 * FLAT, NOISE, (0.45, 33.0)) == []


def test_of_templates_at_one_place_the_best_is_kept():
    """Twice one place, a turn of 350 against 10 degrees, and one more scale: three candidates."""
    hits = [
        (9.0, 2.0, 0.0, 40.0, 30.0),
        (8.0, 2.0, 5.0, 42.0, 31.0),
        (7.0, 2.0, 90.0, 40.0, 30.0),
        (6.0, 2.9, 0.0, 40.0, 30.0),
        (5.0, 2.0, 0.0, 60.0, 30.0),
    ]
    found = _distinct(hits, (81, 101), 1, 3)
    assert [c.support for c in found] == [9.0, 7.0, 6.0]
    for candidate in found:
        # the middle of the frame lies where the template's does
        assert map_points(candidate.homography, np.array([50.0, 40.0])) == pytest.approx((40, 30))
    assert [c.support for c in _distinct(hits, (81, 101), 1, 9)] == [9.0, 7.0, 6.0, 5.0]


def test_a_frame_of_a_few_picture_pixels_has_no_repeats():
    assert find_repeats(NOISE, 0.03 * HALF + np.diag([0, 0, 0.97]), (80, 80)) == []


def test_a_frame_beside_the_picture_is_like_nothing():
    beside = np.array([[1, 0, 60.0], [0, 1, 55.0], [0, 0, 1]])
    likeness = likeness_at(NOISE, NOISE, beside, 1)
    assert (likeness.correlation, likeness.significance, likeness.unexplained) == (0, 0, 1)
    # what is left of 80 x 64 beyond (60, 55)
    assert likeness.overlap == 20 * 9 / (80 * 64)


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


def test_the_largest_rectangle_of_a_mask():
    mask = np.zeros((6, 8), dtype=bool)
    mask[1:3, 1:7] = True  # 12
    mask[1:6, 3:5] = True  # 10
    assert _largest_rectangle(mask) == (1, 3, 1, 7)
    mask[1:6, 3:6] = True  # 15
    assert _largest_rectangle(mask) == (1, 6, 3, 6)


def test_a_frame_off_the_picture_is_refused():
    beside = np.array([[1, 0, 500.0], [0, 1, 0], [0, 0, 1]])
    with pytest.raises(RegionError) as caught:
        _shared_rectangle(beside, (100, 100), (200, 300))
    assert str(caught.value) == (
        "own picture: the frame shows next to nothing of it; move closer to it"
    )


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
