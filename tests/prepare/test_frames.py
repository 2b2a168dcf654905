"""Frames of marks round a part of a picture: what they hold, where it is found, what is refused."""

import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from framed import (
    MASTER_PPI,
    master,
    off_px,
    photographed,
    printed_frame,
    printed_place,
    true_homography,
)

from dotloupe import measure_capture, register
from dotloupe.errors import InputError, NotFitError
from dotloupe.patch import Patch, code_modules, framed_part, parse_code
from dotloupe.patch.corner_marks import code_text
from dotloupe.prepare import draw_frame, prepare
from dotloupe.units import MM_PER_INCH

PICTURE = "immunohistochemistry"


def frame(ppi=600, corner_mm=(0, 2), run=7):
    return Patch(ppi, run, "simulated", "picture", corner_mm)


@pytest.fixture(scope="module")
def taken():
    """A frame printed at 300 ppi on continuous tone and photographed (simulated)."""
    picture, patch = master("retina"), frame(300, (3, 5))
    printed = printed_frame("dye_300", picture, patch)
    return picture, patch, printed, photographed(printed)


def test_the_code_says_where_the_part_lies(outside_check):
    patch = Patch(1500, 249, kind="picture", corner_mm=(987, 45))
    text = code_text(patch.code)
    assert parse_code(text) == patch.code
    assert code_modules(patch.code).shape == (21, 21)
    outside_check(
        "characters of the longest code, at most what a QR code of version 1-M holds",
        "ISO/IEC 18004, capacity of version 1-M in alphanumeric mode",
        20,
        len(text),
        abs=0,
        memory=True,
    )
    assert parse_code("DL2P 1 600") is None
    assert parse_code("DL2D 1 600 001002") is None


@pytest.mark.parametrize("ppi", [300, 360, 600, 720])
def test_the_frame_holds_the_prepared_picture_pixel_by_pixel(ppi):
    picture, patch = master(PICTURE), frame(ppi, (1, 2))
    drawing = draw_frame(picture, patch)
    assert drawing.shape == (*patch.size_px, 3)
    part = framed_part(patch, picture.shape, picture.ppi)
    whole = prepare(picture, ppi).pixels
    assert np.array_equal(drawing[part.place], whole[part.cut])
    first = part.cut[1].start / ppi * MM_PER_INCH
    assert first == pytest.approx(1, abs=0.5 * MM_PER_INCH / ppi)


def test_place_of_a_spot_follows_from_the_frame():
    """A bright spot of the master lies where `from_mm` says, to a tenth of a pixel sent."""
    pixels = np.zeros((700, 900, 3), np.uint8)
    picture = replace(master(PICTURE), pixels=pixels)
    y, x = np.mgrid[:700, :900]
    spot = np.exp(-((x - 300.3) ** 2 + (y - 200.7) ** 2) / 50)
    pixels[:] = np.rint(255 * spot)[..., None]
    patch = frame(360, (2, 3))
    drawing = draw_frame(picture, patch, resize="area")
    part = framed_part(patch, picture.shape, picture.ppi)
    light = picture.linear[drawing[..., 1]] * 0
    light[part.place] = picture.linear[drawing[part.place][..., 1]]
    down, across = (np.arange(n) for n in light.shape)
    centre = np.array([light.sum(axis=0) @ across, light.sum(axis=1) @ down]) / light.sum()
    mm = (centre + 0.5) / 360 * MM_PER_INCH
    own = part.from_mm @ np.array([*mm, 1])
    assert own[:2] == pytest.approx([300.3, 200.7], abs=0.1)


def test_found_by_marks_and_content_without_a_search(taken, monkeypatch):
    picture, patch, printed, capture = taken

    def no_search(*_):
        raise AssertionError("searched for a part that its marks place")

    monkeypatch.setattr("dotloupe.registration.picture.locate_picture", no_search)
    found = register(capture, picture=picture)
    assert (found.run, found.sent_ppi) == (7, 300)
    place = printed_place("dye_300", 300)
    true = true_homography(printed, patch, picture, place=place)
    scale = found.pixels_per_picture_px
    # what is asked of a frame, in pixels of the photograph: 0.6 um
    assert off_px(found.homography, true, capture.shape, scale) < 0.05


def test_measured_against_the_master(taken):
    picture, _, _, capture = taken
    measured = measure_capture(capture, picture=picture)
    assert measured.fit, measured.reasons
    assert (measured.run, measured.sent_ppi) == (7, 300)
    for axis in "xy":
        assert 2 < measured.numbers[f"picture_kept_{axis}"].value < 300 / 50.8 * 1.1
        assert 2 < measured.numbers[f"response_{axis}"].value < 300 / 50.8


def test_without_its_picture_a_frame_is_not_taken_for_a_patch(taken):
    measured = measure_capture(taken[3])
    assert not measured.fit
    assert "--picture" in str(measured.reasons[0])


def test_another_picture_or_width_is_refused(taken):
    picture, _, _, capture = taken
    for wrong in (master("coffee"), replace(picture, ppi=1.2 * MASTER_PPI)):
        measured = measure_capture(capture, picture=wrong)
        assert not measured.fit
    with pytest.raises(NotFitError, match="print-width"):
        register(capture, picture=replace(picture, ppi=None))


@pytest.mark.parametrize(
    ("shape", "corner_mm", "words"),
    [((300, 600), (0, 0), "smaller than the frame"), ((700, 900), (12, 0), "up to 10,16")],
)
def test_pictures_too_small_and_frames_beyond_them_are_refused(shape, corner_mm, words):
    picture = replace(master(PICTURE), pixels=np.zeros((*shape, 3), np.uint8))
    with pytest.raises(InputError, match=words):
        draw_frame(picture, frame(600, corner_mm))


def test_sixteen_bits_stay_sixteen():
    small = master(PICTURE)
    deep = replace(
        small,
        pixels=small.pixels.astype(np.uint16) * 257,
        linear=cv2.resize(small.linear[None], (65536, 1))[0],
    )
    assert draw_frame(deep, frame()).dtype == np.uint16
