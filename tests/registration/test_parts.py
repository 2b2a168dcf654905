"""Parts of a patch placed by the marks in sight and by what is drawn, on drawn photographs."""

import runpy
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from dotloupe import Patch, measure_capture, register
from dotloupe.errors import NotFitError
from dotloupe.registration.homography import map_points, pixels_per_mm
from dotloupe.registration.mark_search import find_marks
from dotloupe.registration.registration import CodeUnread
from dotloupe.registration.view import view_of

photograph = runpy.run_path(str(Path(__file__).with_name("test_register.py")))["photograph"]
PER_MM = 40.0
QUARTERS = {(0, 0): 0, (0, 1): 1, (1, 1): 2, (1, 0): 3}
"""Lower or upper, left or right: the mark that a part shows."""


@pytest.fixture(scope="module")
def shot():
    return photograph(Patch(600, run=12), 1.5)


@pytest.fixture(scope="module")
def whole(shot):
    return register(shot[0])


def part_of(capture, rows, columns):
    return replace(capture, pixels=capture.pixels[rows, columns])


def quarter(capture, down, right, share=0.58):
    rows, columns = capture.shape
    height, width = round(share * rows), round(share * columns)
    first = down * (rows - height), right * (columns - width)
    part = part_of(capture, slice(first[0], first[0] + height), slice(first[1], first[1] + width))
    return part, first


def off_px(part, first, found, whole):
    """Rms distance in capture pixels from the whole's registration, over the part."""
    x, y = np.meshgrid(np.linspace(0, part.shape[1] - 1, 15), np.linspace(0, part.shape[0] - 1, 15))
    seen = np.column_stack([x.ravel(), y.ravel()])
    place = map_points(whole.homography, seen + np.array(first[::-1]))
    on_patch = np.all((place > 0) & (place < (30, 20)), axis=1)
    again = map_points(np.linalg.inv(found.homography), place[on_patch])
    return float(np.sqrt(np.mean(np.sum((again - seen[on_patch]) ** 2, axis=1))))


@pytest.mark.parametrize(("place", "corner"), QUARTERS.items())
def test_one_mark_places_a_part_as_the_whole_is(shot, whole, place, corner, table_row):
    part, first = quarter(shot[0], *place)
    assert find_marks(part).corners == (corner,)
    found = register(part)
    off = off_px(part, first, found, whole)
    table_row("a part of 58 % by one mark (drawn)", f"mark {corner}: {off:.3f} px off the whole's")
    assert off < 0.1
    middle = view_of(part, found).middle_mm
    assert found.pixels_per_mm == pytest.approx(pixels_per_mm(whole.homography, middle), rel=1e-3)


def test_two_marks_place_half_a_patch(shot, whole):
    half = part_of(shot[0], slice(None), slice(0, shot[0].shape[1] // 2))
    assert find_marks(half).corners == (0, 3)
    assert off_px(half, (0, 0), register(half), whole) < 0.1


def test_ppi_is_read_where_the_code_is_in_sight_and_not_asked_for_elsewhere(shot):
    with_code, without = register(quarter(shot[0], 1, 1)[0]), register(quarter(shot[0], 0, 0)[0])
    assert with_code.sent_ppi == 600
    assert without.sent_ppi is None
    assert CodeUnread() not in (*with_code.cautions, *without.cautions)


def test_a_part_of_large_tints_says_its_kind():
    capture, _ = photograph(Patch(600, run=5, kind="tints"))
    part, first = quarter(capture, 0, 1)
    found = register(part)
    assert found.patch.kind == "tints"
    # few of its windows hold anything: the borders of a tint, the lettering, one mark
    assert off_px(part, first, found, register(capture)) < 0.6


def test_a_part_is_placed_at_a_quarter_turn():
    capture, _ = photograph(Patch(600, run=3), 90.8)
    part, first = quarter(capture, 0, 0)
    assert off_px(part, first, register(part), register(capture)) < 0.1


def test_only_elements_wholly_in_sight_are_there(shot, whole):
    part, first = quarter(shot[0], 0, 0)
    view = view_of(part, register(part))
    seen = {region.name for region in view.shown.in_sight}
    assert {"mark_top_left", "tint_paper"} <= seen
    assert not seen & {"mark_top_right", "code", "texture", "tint_light_magenta"}
    for region in view.shown.in_sight:
        corners = map_points(np.linalg.inv(whole.homography), np.array(region.corners_mm))
        inside = corners - (first[1], first[0])
        assert np.all((inside >= 0) & (inside <= np.array(part.shape[::-1]) - 1)), region.name
    assert not view.shown.shows_all("tint")


def test_numbers_of_a_part_are_those_of_the_whole_and_none_is_made_of_what_is_cut():
    """The same pixels, cut at places that differ by hundredths of a pixel."""
    capture, _ = photograph(Patch(600, run=7), blur_mm=0.02)
    whole = measure_capture(capture)
    for place in ((0, 0), (1, 1)):
        part = measure_capture(quarter(capture, *place)[0])
        assert part.registration is not None, part.reasons
        for name, edge in part.edges.items():
            assert edge.mtf50 == pytest.approx(whole.edges[name].mtf50, rel=0.02)
        assert part.small_picture is None
        assert not any("frame" in why for why in part.faults.values())
        assert "grain" not in part.numbers


def test_a_part_without_a_mark_is_refused_in_one_line(shot):
    rows = shot[0].shape[0]
    middle = part_of(shot[0], slice(rows // 4, 3 * rows // 4), slice(None))
    with pytest.raises(NotFitError, match="none of the coded corner marks") as refused:
        register(middle)
    assert "\n" not in str(refused.value)


def test_a_mark_that_is_covered_is_named(shot, whole):
    capture = shot[0]
    region = whole.patch.regions["mark_top_right"]
    place = map_points(np.linalg.inv(whole.homography), np.array(region.corners_mm))
    pixels = capture.pixels.copy()
    cv2.fillConvexPoly(pixels, place.astype(np.int32), (30000, 30000, 30000))
    with pytest.raises(NotFitError, match="top right mark of run 12 not seen"):
        register(replace(capture, pixels=pixels))


def test_a_mark_in_the_wrong_surroundings_places_nothing(shot):
    """One mark of a patch, cut out and laid on the lower right part of another."""
    part = quarter(shot[0], 1, 0)[0]
    lone = quarter(shot[0], 0, 1, share=0.2)[0]
    pixels = part.pixels.copy()
    height, width = lone.shape
    pixels[-height:, :width] = lone.pixels
    with pytest.raises(NotFitError):
        register(replace(part, pixels=pixels))


def test_a_mirrored_part_is_named(shot):
    part = quarter(shot[0], 0, 0)[0]
    with pytest.raises(NotFitError, match="mirrored"):
        register(replace(part, pixels=part.pixels[:, ::-1]))
