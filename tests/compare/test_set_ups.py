"""Photographs of one comparison share their set-up, or the answer begins by saying so."""

from dataclasses import replace

import pytest

from dotloupe.capture.set_up import SetUp, SetUpPart
from dotloupe.compare.cautions import DifferentSetUps, SamePrintTwice
from dotloupe.compare.set_ups import differing_parts, set_up_cautions
from dotloupe.measurement import Measurement

CAMERA = SetUp("A 1", 100.0, "camera file", 0.5)


def shot(setting, run, set_up=CAMERA, ppi=600.0):
    return Measurement(setting, "a", setting, run, ppi, True, (), (), {}, set_up=set_up)


@pytest.mark.parametrize(
    ("changed", "parts"),
    [
        ({}, ()),
        ({"camera": ""}, ()),  # a file that is silent may be of the same camera
        ({"pixels_per_mm": 92.0}, ()),
        ({"pixels_per_mm": 48.0}, (SetUpPart.SAMPLING,)),
        ({"camera": "B 2"}, (SetUpPart.CAMERA,)),
        ({"file_kind": "JPG", "mid_tone": 0.214}, (SetUpPart.FILE_KIND, SetUpPart.TONE)),
    ],
)
def test_what_set_ups_do_not_share(changed, parts):
    assert differing_parts([CAMERA, CAMERA, replace(CAMERA, **changed)]) == parts


def test_prints_by_camera_and_by_scanner_are_not_compared_in_silence():
    scanner = SetUp("", 47.2, "TIF", 0.214)
    both = {"camera": [shot("a", 3), shot("b", 3)], "scanner": [shot("c", 3, scanner)]}
    of_set_up, of_print = set_up_cautions(both)
    assert isinstance(of_set_up, DifferentSetUps)
    assert of_set_up.pixels_per_mm == (47.2, 100.0)
    assert of_print == SamePrintTwice(3, ("camera", "scanner"))


def test_settings_of_one_set_up_raise_nothing():
    assert set_up_cautions({"fast": [shot("a", 3)], "fine": [shot("b", 4)]}) == []
    # one run number sent at several ppi names several prints
    assert set_up_cautions({300: [shot("a", 3, ppi=300.0)], 600: [shot("b", 3)]}) == []


def test_photographs_that_are_not_fit_count_for_nothing():
    other = replace(shot("c", 4, replace(CAMERA, camera="B 2")), fit=False)
    assert set_up_cautions({"fast": [shot("a", 3)], "fine": [other]}) == []
