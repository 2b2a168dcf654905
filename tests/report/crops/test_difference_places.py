"""The viewer of framed pictures: its first places are those where the settings differ most."""

import hashlib
from dataclasses import replace

import cv2
import numpy as np
import pytest

from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import PictureMeasurement
from dotloupe.number import PICTURE_CRITERIA, Number
from dotloupe.patch.patch import Patch
from dotloupe.registration.patch_image import SMALL_PER_MM, SmallPicture
from dotloupe.registration.registration import PlacedFrame, Registration
from dotloupe.report.crops.files import write_pictures
from dotloupe.report.crops.viewer import viewer_content
from dotloupe.report.model import ranking_model

PER_MM = 20.0
SQUARES = {"plain": (), "spotted": ((8, 8, 150), (20, 12, 60))}
"""Middle x, y in mm, and code, on a ground of 200."""


def framed(folder, name, run):
    """A photograph that is its frame, pixel by pixel, with what the program keeps of it."""
    patch = Patch(360, run, name, "picture", (5, 7))
    columns, rows = (round(n * PER_MM) for n in patch.size_mm)
    coded = np.full((rows, columns, 3), 200, np.uint8)
    for x, y, code in SQUARES[name]:
        coded[int((y - 1) * PER_MM) : int((y + 1) * PER_MM),
              int((x - 1) * PER_MM) : int((x + 1) * PER_MM)] = code  # fmt: skip
    path = folder / f"{name}.png"
    cv2.imwrite(str(path), coded)
    to_mm = np.diag([1 / PER_MM, 1 / PER_MM, 1.0])
    size = tuple(round(n * SMALL_PER_MM) for n in patch.size_mm)
    light = (cv2.resize(coded, size, interpolation=cv2.INTER_AREA) / 255.0) ** 2.2
    value = 4.0 + 0.1 * run
    criterion = PICTURE_CRITERIA["picture_kept_x"]
    number = Number(value, value - 0.1, value + 0.1, criterion.unit, criterion.measurand)
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    given = (str(path), digest, name, run, 360.0, True, (), (), {criterion.name: number})
    placed = Registration(np.eye(3), PER_MM, 1.0, 0.1, frame=PlacedFrame(patch, to_mm))
    small = SmallPicture(light.astype(np.float16), SMALL_PER_MM)
    return PictureMeasurement(*given, registration=placed, small_picture=small)


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    folder = tmp_path_factory.mktemp("frames")
    shots = {name: [framed(folder, name, run)] for run, name in enumerate(SQUARES, start=1)}
    return ranking_model(rank(shots))


def test_they_are_the_first_to_step_to_and_shown_close_up(model, tmp_path):
    pictures = write_pictures(model.settings, tmp_path, (), model.difference_places)
    content = viewer_content(model.settings, pictures, model.looked_at_from_mm)
    first, second = content["elements"][:2]
    assert first["closeUp"] == pytest.approx([19, 11, 2, 2], abs=0.15)
    assert second["closeUp"] == pytest.approx([7, 7, 2, 2], abs=0.15)
    for setting, codes in (("plain", (200, 200)), ("spotted", (60, 150))):
        shot = pictures.by_setting[setting][0]
        shown = [cv2.imread(str(tmp_path / shot.close[n].path)) for n in pictures.differences[:2]]
        middles = [part[150:250, 150:250].mean() for part in shown]
        # paper, here the ground, is shown as light as in every picture
        assert (middles[1] - middles[0] > 50) == (codes[1] > codes[0])


def test_prints_without_a_frame_have_none(model, tmp_path):
    bare = {
        s.name: [replace(m, registration=None, small_picture=None) for m in s.measurements]
        for s in model.settings
    }
    other = ranking_model(rank(bare))
    assert other.difference_places == ()
    assert write_pictures(other.settings, tmp_path, (), ()).differences == ()
