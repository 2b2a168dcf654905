"""Requests that no measurement can meet: each refusal names the number that is wrong."""

import runpy
from pathlib import Path

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.measure.bars.line_pairs import line_pairs
from dotloupe.measure.grain.even_tint import luminance
from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.jackknife import correlated_rows
from dotloupe.measure.lines.ink_offset import LineWindow, plane_offsets
from dotloupe.measure.lines.printed import printed_line
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.texture.known_texture import transfer

NOISE = np.random.default_rng(0).uniform(0.2, 0.8, (160, 200))


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"bars": "slanted"}, "'vertical' or 'horizontal', not 'slanted'"),
        ({"frequency": -1.0}, "positive number, not -1.0"),
        ({"frequency": np.nan}, "positive number, not nan"),
        ({"frequency": 60.0}, "1.7 pixels a line pair at 60 lp/mm"),
        ({"frequency": 0.9}, "holds 1.8 line pairs at 0.9 lp/mm, at least two"),
    ],
)
def test_line_pairs_that_cannot_be_asked_for(how, words):
    asked = {"frequency": 5.0, **how}
    with pytest.raises(RegionError) as caught:
        line_pairs(NOISE, 100.0, asked.pop("frequency"), **asked)
    assert words in str(caught.value)


@pytest.mark.parametrize("levels", [(0.2, 0.9), (0.9, -0.1), (0.5, 0.5)])
def test_levels_of_bars_are_a_light_and_a_darker_one(levels):
    picture = runpy.run_path(str(Path(__file__).with_name("test_properties.py")))["bars"](5.04)
    assert line_pairs(picture, 100.0, 5.04, levels=(1.0, 0.2)).bars_found == 5
    with pytest.raises(RegionError, match="light and a darker reflectance"):
        line_pairs(picture, 100.0, 5.04, levels=levels)


@pytest.mark.parametrize(
    ("tint", "px", "words"),
    [
        (NOISE, 0.0, "above zero, but it is 0"),
        (NOISE, np.inf, "above zero, but it is inf"),
        (NOISE[:100], 100.0, "2.00 x 1.00 mm, less than the 1.27 mm tile"),
        (NOISE[:12, :15], 8.0, "only 15 x 12 pixels"),
        (np.where(NOISE > 0.79, np.nan, NOISE), 100.0, "missing pixels"),
        (-NOISE, 100.0, "no light in it"),
        (np.full_like(NOISE, 0.5), 100.0, ""),
    ],
)
def test_tints_that_hold_no_grain(tint, px, words):
    with pytest.raises(RegionError) as caught:
        grain(tint, px)
    assert words in str(caught.value)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.2])
def test_coherence_lies_between_0_and_1(level):
    with pytest.raises(RegionError, match=f"between 0 and 1: {level}"):
        transfer(NOISE, NOISE, 100.0, coherence_level=level)


def test_two_pictures_of_different_things_are_no_texture():
    rng = np.random.default_rng(1)
    with pytest.raises(RegionError, match="do not show one picture"):
        transfer(rng.uniform(size=(400, 400)), rng.uniform(size=(400, 400)), 100.0)


def test_rows_that_do_not_vary_count_one_by_one():
    assert correlated_rows(np.ones(50)) == 1.0
    # white rows count singly: the sum of the autocorrelation is 1, its error 0.2 at 200 rows
    white = np.random.default_rng(2).standard_normal(200)
    assert correlated_rows(white) == pytest.approx(1.0, abs=0.6)


@pytest.mark.parametrize("length", [4, 16])
def test_rows_that_move_together_count_as_one(length):
    """A pulse of n rows has the triangle 1 - k/n as its autocorrelation, which sums to n."""
    pulse = np.zeros(4096)
    pulse[100 : 100 + length] = 1.0
    # its mean, n of 4096, is taken out of it: n/4096 of each of 2 n terms
    assert correlated_rows(pulse) == pytest.approx(length, rel=0.01)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: checked_region(np.ones((20, 20)), 0.0, what="line"),
            "line: pixels per mm must be a positive number, not 0.0.",
        ),
        (
            lambda: printed_line(np.ones((40, 40)), 100.0, runs="slanted"),
            "line: it runs 'vertical' or 'horizontal', not 'slanted'.",
        ),
        (
            lambda: plane_offsets(
                np.ones(4),
                100.0,
                [LineWindow("black", 0, 0, 1, 1, 0), LineWindow("cyan", 0, 0, 1, 1, 0)],
            ),
            "plane offsets: a picture has 2 or 3 dimensions, not 1.",
        ),
        (
            lambda: luminance(np.ones((4, 4, 2))),
            (
                "a tint must be an array of rows and columns, or of those by 3 linear colours, but "
                "this one has the shape (4, 4, 2)"
            ),
        ),
    ],
)
def test_what_cannot_be_measured_is_named(call, says):
    with pytest.raises(RegionError) as caught:
        call()
    assert str(caught.value) == says
