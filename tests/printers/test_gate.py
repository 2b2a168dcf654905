"""The gate on a printer without dots that it does not know: nobody is blamed, a fault is."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from dotloupe import Patch
from dotloupe.session import check_file
from printers import PRINTERS
from printers.cameras import Camera, photograph

CAMERA = Camera(pixels_per_mm=60.0)


@pytest.fixture(scope="module")
def dye():
    return PRINTERS["dye_300"](Patch(sent_ppi=300, run=3), 1)


def checked(print_, tmp_path, **fault):
    return check_file(photograph(print_, CAMERA, **fault).write(tmp_path / "photograph.tif"))[0]


def test_what_continuous_tone_cannot_show_is_not_blamed(dye, tmp_path):
    one = checked(dye, tmp_path)
    assert one.to_dict()["verdict"] == "cannot tell"
    assert one.fitness.fit
    assert {f.severity.value for f in one.fitness.findings} == {"cannot tell"}
    assert all("would settle" in message for message in one.messages)


def test_a_soft_corner_is_blamed_though_there_are_no_dots(dye, tmp_path):
    one = checked(dye, tmp_path, fault="soft corner", strength=160.0)
    assert "uneven focus" in {f.name for f in one.fitness.findings if f.severity != "cannot tell"}
