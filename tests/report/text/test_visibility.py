"""What an eye sees, in sentences."""

import numpy as np
import pytest

from dotloupe.compare.visibility.picture_difference import PictureVisibility
from dotloupe.report.text.visibility import far, picture_sentence

NONE = np.zeros(0)


@pytest.mark.parametrize(
    ("reach", "interval", "said", "distances"),
    [
        (0.0, (0.0, 240.0), "look the same without a magnifier", ()),
        (0.0, (0.0, 300.0), "look the same at 35 cm", ("30 cm",)),
        (0.0, (0.0, 1500.0), "do not settle", ("at no distance", "1.5 m")),
        (800.0, (0.0, 1500.0), "do not settle", ("80 cm", "not at all to 1.5 m")),
        (800.0, (400.0, 1500.0), "visibly differ at 35 cm", ("80 cm", "40 cm to 1.5 m")),
    ],
)
def test_what_prints_laid_on_each_other_show(reach, interval, said, distances):
    picture = PictureVisibility(reach, interval, True, NONE, NONE, NONE, NONE)
    found = picture_sentence(picture, 350.0)
    assert all(words in found for words in (said, *distances))
    settled = [w for w in ("do not settle", "look the same") if w in found]
    assert len(settled) == (said != "visibly differ at 35 cm")


def test_single_prints_laid_on_each_other_show_nothing():
    picture = PictureVisibility(900.0, (0.0, 900.0), False, NONE, NONE, NONE, NONE)
    found = picture_sentence(picture, 350.0)
    assert "not compared" in found
    assert "three prints" in found
    assert "90 cm" not in found


def test_distances_as_a_person_says_them():
    assert [far(mm) for mm in (123.0, 999.0, 1000.0, 4321.0, 20000.0, 1e6)] == [
        *("12 cm", "100 cm", "1.0 m", "4.3 m", "20 m and more", "20 m and more"),
    ]
