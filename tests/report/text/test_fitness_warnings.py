"""Every finding has a sentence with what to do, from data alone."""

from dataclasses import replace

import pytest

from dotloupe.fitness.examination import MARKS, PATCHY_LIGHT, UNEVEN_LIGHT
from dotloupe.fitness.exposure import COMPRESSION, DARK_END, EXPOSURE, LIGHT_END
from dotloupe.fitness.finding import Fault, Finding, Refused, Severity, Symptom
from dotloupe.fitness.focus import (
    POSSIBLE_LOSS,
    SOFT_PRINT,
    SOFTENING,
    Curled,
    Place,
    Softer,
    Tilted,
)
from dotloupe.fitness.motion import MOTION, Direction, Moved
from dotloupe.fitness.place_in_picture import CONTENT, RESIDUAL
from dotloupe.fitness.processing import BLOCKS, NOISE_RISE, OVERSHOOT, POSSIBLE_GAIN
from dotloupe.fitness.sheet_position import SAMPLING, SCALE, STRETCH, Stretched, WrongSize
from dotloupe.fitness.together import SOFTER_THAN_OTHERS, SofterThan
from dotloupe.report.text.cautions import caution_text
from dotloupe.report.text.fitness_warnings import finding_text

CASES = [
    (Finding(Fault.SAMPLING, 7.5, SAMPLING), ("30 pixels/mm", "7.5 lp/mm", "12.0", "closer")),
    (Finding(Fault.SAMPLING, 11.795, replace(SAMPLING, warning=11.811)), ("11.79", "11.81")),
    (Finding(Fault.STRETCH, 3.0, STRETCH, Stretched("x")), ("3.0 % too wide", "unscaled")),
    (Finding(Fault.STRETCH, 3.0, STRETCH, Stretched("y")), ("3.0 % too high",)),
    (Finding(Fault.SCALE, 4.0, SCALE, WrongSize(too_large=True)), ("4.0 % too large", "100 %")),
    (Finding(Fault.EXPOSURE, 3.0, EXPOSURE), ("3.0 stops", "expose longer")),
    (Finding(Fault.CLIPPED_LIGHT, 3.0, LIGHT_END), ("3.0 % of the paper", "expose less")),
    (Finding(Fault.CLIPPED_DARK, 9.0, DARK_END), ("9 % of the black", "without a black point")),
    (Finding(Fault.COMPRESSION, 12.0, COMPRESSION), ("steps of 12", "raw files")),
    (Finding(Fault.COMPRESSION, 1.5, BLOCKS), ("8 pixels", "1.5 times", "own file")),
    (Finding(Fault.UNEVEN_LIGHT, 60.0, UNEVEN_LIGHT), ("60 %", "--blank")),
    (Finding(Fault.UNEVEN_LIGHT, 6.0, PATCHY_LIGHT), ("6.0 %", "shadows", "--blank")),
    (
        Finding(Fault.DEFOCUS, 20.0, POSSIBLE_LOSS, blamed=False),
        ("up to 20 %", "out of focus or moved", "reference edge"),
    ),
    (
        Finding(Fault.UNEVEN_FOCUS, 20.0, POSSIBLE_LOSS, blamed=False),
        ("up to 20 %", "curled", "the print itself", "nearer frame"),
    ),
    (
        Finding(Fault.SHARPENING, 20.0, POSSIBLE_GAIN, blamed=False),
        ("up to 20 %", "raw file", "nearer frame"),
    ),
    (Finding(Fault.DEFOCUS, 75.0, SOFT_PRINT), ("75 um", "ink that spreads", "refocus")),
    (
        Finding(Fault.UNEVEN_FOCUS, 20.0, SOFTENING, Softer(Place.LOWER_RIGHT)),
        ("lower right corner softer by 20 %", "the lens", "stop down"),
    ),
    (
        Finding(Fault.TILT, 20.0, SOFTENING, Tilted(Place.LEFT, Place.RIGHT, 1.24, 250.0)),
        ("left side softer", "right side lies 1.2 mm nearer", "250 mm", "level"),
    ),
    (
        Finding(Fault.CURL, 20.0, SOFTENING, Curled(Place.UPPER, -0.5, 250.0)),
        ("upper edge softer", "0.5 mm further from", "250 mm", "press the sheet flat"),
    ),
    (
        Finding(Fault.DEFOCUS, 14.0, SOFTER_THAN_OTHERS, SofterThan("a.tif")),
        ("softer by 14 % than a.tif", "out of focus", "print that came out softer", "refocus"),
    ),
    (
        Finding(Fault.MOTION_BLUR, 8.0, MOTION, Moved(Direction.DOWN_RIGHT, 50.0)),
        ("50 um down to the right", "flash"),
    ),
    (
        Finding(Fault.MOTION_BLUR, 8.0, MOTION, Moved(Direction.ACROSS, 50.0), blamed=False),
        ("50 um across the frame", "printer is softer that way"),
    ),
    (
        Finding(Fault.SHARPENING, 8.0, OVERSHOOT),
        ("overshoot by 8 %", "camera", "driver", "turn sharpening off"),
    ),
    (Finding(Fault.SHARPENING, 1.3, NOISE_RISE), ("1.30 times", "turn sharpening off")),
    (Finding(Fault.MARKS_MISSING, 4.0, MARKS, Refused("no marks; look")), ("no marks; look",)),
    (Finding(Fault.CONTENT, 1.0, CONTENT), ("its detail is lost", "refocus")),
    (Finding(Fault.RESIDUAL, 0.7, RESIDUAL), ("0.70 pixels", "lay the sheet flat")),
]


@pytest.mark.parametrize(("finding", "words"), CASES, ids=lambda v: getattr(v, "name", ""))
def test_a_finding_is_put_into_words(finding, words):
    assert finding.severity is not Severity.FINE
    text = finding_text(finding)
    assert all(word in text for word in words), text
    assert ";" in text
    assert caution_text(finding) == text


def test_every_number_that_shows_a_fault_is_put_into_words():
    # a picture's sampling is tried with photographs; two more are errors' own words
    elsewhere = {Symptom.FINEST_PICTURE_DETAIL, Symptom.MIRRORED, Symptom.NOT_PLACED}
    assert {f.limits.symptom for f, _ in CASES} == set(Symptom) - elsewhere
