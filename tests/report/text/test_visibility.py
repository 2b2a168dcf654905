"""What an eye sees, in sentences."""

import numpy as np
import pytest

from dotloupe.compare.visibility.picture_difference import PictureVisibility
from dotloupe.report.text.visibility import far, picture_sentence

NONE = np.zeros(0)


SAME = "look the same from 35 cm in tone, colour and sharpness"


DIFFER = "differ in tone, colour or sharpness"


BEYOND = "beyond what prints of one setting do"


OPEN = (
    "Whether their prints laid on each other differ in tone, colour or sharpness as a keen eye "
    "sees from 35 cm is not settled: beyond what prints of one setting differ by, what was "
    "measured would be seen"
)


LAID = "Laid on each other, their prints"


@pytest.mark.parametrize(
    ("reach", "interval", "said"),
    [
        (
            *(0.0, (0.0, 240.0)),
            f"{LAID} show no other difference in tone, colour or sharpness without a magnifier.",
        ),
        (
            *(0.0, (0.0, 300.0)),
            f"{LAID} {SAME}, and differ from closer than 30 cm at most.",
        ),
        (
            *(0.0, (0.0, 1500.0)),
            f"{OPEN} from nowhere (95 % interval: up to 1.5 m).",
        ),
        (
            *(800.0, (0.0, 1500.0)),
            f"{OPEN} up to 80 cm (95 % interval: not at all to 1.5 m).",
        ),
        (
            *(800.0, (400.0, 1500.0)),
            (
                f"{LAID} {DIFFER} as a keen eye can see from 35 cm, and up to 80 cm (95 % "
                f"interval: 40 cm to 1.5 m), {BEYOND}."
            ),
        ),
    ],
)
def test_what_prints_laid_on_each_other_show(reach, interval, said):
    picture = PictureVisibility(reach, interval, True, NONE, NONE, NONE, NONE)
    assert picture_sentence(picture, 350.0) == said


def test_single_prints_laid_on_each_other_show_nothing():
    picture = PictureVisibility(900.0, (0.0, 900.0), False, NONE, NONE, NONE, NONE)
    assert picture_sentence(picture, 350.0) == (
        "Laid on each other, their prints were not compared: it takes two prints of a setting to "
        "know what repeats differ by."
    )


def test_distances_as_a_person_says_them():
    assert [far(mm) for mm in (123.0, 999.0, 1000.0, 4321.0, 20000.0, 1e6)] == [
        *("12 cm", "100 cm", "1.0 m", "4.3 m", "20 m and more", "20 m and more"),
    ]
