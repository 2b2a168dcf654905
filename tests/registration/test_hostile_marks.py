"""Marks as nobody meant them: strewn about, of two patches, in a wrong corner, a false code."""

import runpy
import time
from pathlib import Path

import cv2
import numpy as np
import pytest

from dotloupe import Patch, register
from dotloupe.capture.capture import Capture
from dotloupe.errors import NotFitError
from dotloupe.patch import corner_marks as patch_marks
from dotloupe.patch.corner_marks import PatchCode, mark_modules, parse_code
from dotloupe.registration.mark_search import find_marks, mark_regions
from dotloupe.registration.registration import CodeUnread

photograph = runpy.run_path(str(Path(__file__).with_name("test_register.py")))["photograph"]
PER_MM = 40.0
LINEAR = np.linspace(0, 1, 65536, dtype=np.float32)


def capture_of(reflectance):
    pixels = np.round(65535 * 0.6 * reflectance).astype(np.uint16)
    three = np.broadcast_to(pixels[..., None], (*pixels.shape, 3))
    return Capture("drawn.tif", "0" * 64, three, LINEAR, np.full(3, 0.6))


def mark(run, corner, side_px=64):
    return cv2.resize(
        mark_modules(run, corner), (side_px, side_px), interpolation=cv2.INTER_NEAREST
    )


def strewn(identities, columns):
    """Marks in a grid, as (run, corner)."""
    rows = -(-len(identities) // columns)
    frame = np.ones((rows * 100 + 40, columns * 100 + 40))
    for number, (run, corner) in enumerate(identities):
        top, left = 100 * (number // columns) + 38, 100 * (number % columns) + 38
        frame[top : top + 64, left : left + 64] = mark(run, corner)
    return frame


def patch_frame(corners, size_mm=(32, 22)):
    """Marks of these (run, corner) where a patch has its four, on white paper."""
    frame = np.ones((round(size_mm[1] * PER_MM), round(size_mm[0] * PER_MM)))
    for (run, corner), region in zip(corners, mark_regions(), strict=True):
        side = round(region.width_mm * PER_MM)
        top, left = round((region.y_mm + 1) * PER_MM), round((region.x_mm + 1) * PER_MM)
        frame[top : top + side, left : left + side] = mark(run, corner, side)
    return frame


def test_four_marks_in_their_places_are_found():
    found = find_marks(capture_of(patch_frame([(7, i) for i in range(4)])))
    assert found.run == 7


@pytest.mark.parametrize("copies", [1, 60])
def test_hundreds_of_marks_are_refused_in_bounded_time(copies):
    """60 copies of each corner make 13 million fours; every one of them would take 15 minutes."""
    runs = range(60) if copies == 1 else [5] * copies
    frame = strewn([(run, corner) for run in runs for corner in (0, 2, 1, 3)], columns=20)
    began = time.process_time()
    with pytest.raises(NotFitError, match=r"; (press|photograph)"):
        find_marks(capture_of(frame))
    assert time.process_time() - began < 20


def test_a_patch_among_strewn_marks_is_found():
    loose = strewn([(9, i % 4) for i in range(16)], columns=8)
    whole = patch_frame([(7, i) for i in range(4)])
    frame = np.ones((whole.shape[0] + loose.shape[0], whole.shape[1]))
    frame[: whole.shape[0]] = whole
    frame[whole.shape[0] :, : loose.shape[1]] = loose
    assert find_marks(capture_of(frame)).run == 7


def test_patches_of_two_runs_in_one_frame_are_refused():
    frames = [patch_frame([(run, i) for i in range(4)]) for run in (3, 11)]
    with pytest.raises(NotFitError, match="patches of runs 3 and 11 in one frame; photograph each"):
        find_marks(capture_of(np.concatenate(frames)))


def test_a_neighbours_marks_at_the_rim_do_no_harm():
    """On one sheet of paper the next slot's marks may look into the frame."""
    whole = patch_frame([(3, i) for i in range(4)])
    neighbour = patch_frame([(11, i) for i in range(4)])[:, :200]
    assert find_marks(capture_of(np.concatenate([whole, neighbour], axis=1))).run == 3


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ([(7, 0), (7, 1), (7, 1), (7, 3)], "bottom right mark of run 7 not seen"),
        ([(7, 0), (8, 1), (7, 2), (7, 3)], "top right mark of run 7 not seen"),
        ([(7, 0), (7, 2), (7, 1), (7, 3)], "the four marks of run 7 do not lie on one plane"),
    ],
)
def test_a_mark_in_a_wrong_corner_is_refused(corners, words):
    with pytest.raises(NotFitError, match=words):
        find_marks(capture_of(patch_frame(corners)))


@pytest.mark.parametrize("sent_ppi", [1, 149, 720, 1501, 99999])
def test_a_code_that_no_patch_can_have_is_as_good_as_unread(monkeypatch, sent_ppi):
    """A patch drawn at 600 ppi with another ppi in its code; 720 is one that a patch can have."""
    drawn = patch_marks.code_modules
    false = PatchCode(patch_marks.PATCH_VERSION, "detail", 12, sent_ppi)
    with monkeypatch.context() as context:
        context.setattr("dotloupe.patch.shapes.code_modules", lambda _: drawn(false))
        capture, _ = photograph(Patch(600, run=12))
    registration = register(capture)
    assert (registration.run, registration.sent_ppi) == (12, 720 if sent_ppi == 720 else None)
    assert registration.cautions == (() if sent_ppi == 720 else (CodeUnread(),))


@pytest.mark.parametrize(
    "text", ["", "DL1D 12", "DL1D ٣ 600", "DL1D 12 " + "9" * 5000, "DL1X 1 600"]
)
def test_texts_that_are_no_code(text):
    assert parse_code(text) is None
