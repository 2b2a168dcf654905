"""Candidates for a frame's place in a picture: features, templates and repeats."""

import cv2
import numpy as np
import pytest

from dotloupe.registration.homography import map_points
from dotloupe.registration.picture.features import find_features, propose_by_features
from dotloupe.registration.picture.repeats import find_repeats
from dotloupe.registration.picture.sought import SoughtPicture
from dotloupe.registration.picture.templates import Hit, _distinct, propose_by_templates
from dotloupe.registration.picture.verification import likeness_at

RNG = np.random.default_rng(0)
NOISE = RNG.uniform(0.2, 0.8, (64, 80)).astype(np.float32)
FLAT = np.full((64, 80), 0.5, np.float32)
HALF = np.array([[0.5, 0, 0], [0, 0.5, 0], [0, 0, 1.0]])


def test_a_flat_image_has_no_features_and_few_features_propose_nothing():
    empty = find_features(FLAT, most_pixels=1e6, per_octave=100)
    assert empty.points.shape == (0, 2)
    assert propose_by_features(empty, empty, (0.1, 33.0)) == []
    some = find_features(cv2.GaussianBlur(NOISE, (0, 0), 2.0), most_pixels=1e6, per_octave=100)
    assert len(some.points) >= 4
    # an image against itself has a scale of 1 throughout
    assert propose_by_features(some, some, (5.0, 33.0)) == []


def test_a_black_frame_is_no_template():
    levels = SoughtPicture(NOISE).level
    assert propose_by_templates(0 * FLAT, NOISE.shape, levels, (0.45, 33.0)) == []


@pytest.mark.parametrize("quarters", range(4))
def test_a_template_is_placed_at_every_quarter_turn(quarters):
    """The upper half of the turns shares its transforms with the lower, so each must be tried."""
    picture = cv2.GaussianBlur(RNG.uniform(0.2, 0.8, (240, 300)), (0, 0), 2.0).astype(np.float32)
    top, left, side = 60, 150, 72
    part = picture[top : top + side, left : left + side]
    frame = np.rot90(cv2.resize(part, (3 * side, 3 * side)), quarters).copy()
    best = propose_by_templates(frame, picture.shape, SoughtPicture(picture).level, (2.0, 4.5))[0]
    middle = map_points(best.homography, np.full(2, (3 * side - 1) / 2))
    expected = (left + (side - 1) / 2, top + (side - 1) / 2)
    assert np.hypot(*(middle - expected)) < best.error_px
    # the nearest of 46 turns is half a step away at most, and its neighbour may win
    along = best.homography[:2, 0] / np.hypot(*best.homography[:2, 0])
    turned = np.rad2deg(np.arctan2(along[1], along[0]))
    assert abs((turned - 90 * quarters + 180) % 360 - 180) < 360 / 46


def test_a_picture_makes_features_and_levels_once():
    sought = SoughtPicture(NOISE)
    assert sought.features(1e6) is sought.features(1e6)
    assert sought.level(2) is sought.level(2)
    assert sought.level(2) is not sought.level(1)


def test_of_templates_at_one_place_the_best_is_kept():
    """Twice one place, a turn of 350 against 10 degrees, and one more scale: three candidates."""
    hits = [
        Hit(9.0, 2.0, 0.0, 40.0, 30.0),
        Hit(8.0, 2.0, 5.0, 42.0, 31.0),
        Hit(7.0, 2.0, 90.0, 40.0, 30.0),
        Hit(6.0, 2.9, 0.0, 40.0, 30.0),
        Hit(5.0, 2.0, 0.0, 60.0, 30.0),
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
