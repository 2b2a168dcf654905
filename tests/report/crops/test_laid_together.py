"""Parts of a print laid together: every pixel from the photograph that shows it best."""

import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.report.crops.crop import Box, Photograph, View
from dotloupe.report.crops.laid_together import laid_together

VIEW = View(Box(0.0, 0.0, 10.0, 5.0), 20.0, 88)


def part(left_mm, width_mm, level, per_mm=20.0):
    """An even photograph of some columns of a print 5 mm high."""
    shape = (round(5 * per_mm), round(width_mm * per_mm), 3)
    capture = Capture(
        "a.png", "a", np.full(shape, level, np.uint8), np.linspace(0, 1, 256, dtype=np.float32),
        np.ones(3),
    )  # fmt: skip
    half = 0.5 / per_mm
    places = np.array([[1 / per_mm, 0, left_mm + half], [0, 1 / per_mm, half], [0, 0, 1]])
    return Photograph(capture, places, None, per_mm)


def shown(level):
    return part(0, 1, level).picture(Box(0.2, 0.2, 0.1, 0.1), 20.0)[0, 0, 0]


def test_each_half_comes_from_its_own_photograph_and_the_seam_lies_in_the_middle():
    found = laid_together([part(0, 6, 60), part(4, 6, 200)], VIEW)[50, :, 0]
    assert np.all(found[:95] == shown(60))
    assert np.all(found[105:] == shown(200))
    seam = np.flatnonzero(np.diff(found.astype(int)))
    assert seam == pytest.approx([99.5], abs=2)


def test_the_finer_photograph_is_shown_where_both_see():
    coarse, fine = part(0, 10, 60), part(3, 4, 200, per_mm=40.0)
    found = laid_together([coarse, fine], VIEW)[50, :, 0]
    assert np.all(found[75:125] == shown(200))
    assert np.all(found[:58] == shown(60))


def test_what_no_photograph_shows_is_black():
    found = laid_together([part(0, 4, 200), part(6, 4, 200)], VIEW)[50, :, 0]
    assert np.all(found[85:115] == 0)
    assert np.all(found[5:75] == shown(200))
