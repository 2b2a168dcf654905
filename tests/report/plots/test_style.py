"""Colours that everyone can tell apart and read, on light and on dark."""

from datetime import date
from itertools import combinations

import colour
import matplotlib as mpl
import numpy as np
import pytest

from dotloupe.report.model import Setting
from dotloupe.report.plots.plot import drawing, svg_text
from dotloupe.report.plots.style import (
    GROUND,
    GROUND_ON_DARK,
    INK,
    INK_ON_DARK,
    MARKS,
    PATTERNS,
    SERIES,
    SERIES_ON_DARK,
    SOFT_INK,
    SOFT_INK_ON_DARK,
    look_of,
)


def linear(code):
    coded = np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    """Contrast ratio of WCAG 2.2, from relative luminance."""
    levels = sorted(float(linear(c) @ (0.2126, 0.7152, 0.0722)) + 0.05 for c in (one, other))
    return levels[1] / levels[0]


@pytest.mark.parametrize(
    ("colours", "ground"),
    [(SERIES, GROUND), (SERIES_ON_DARK, GROUND_ON_DARK)],
    ids=["light", "dark"],
)
def test_curves_stand_out_from_the_ground(colours, ground):
    # WCAG 2.2, 1.4.11: 3 to 1 for parts of a graphic
    assert min(contrast(c, ground) for c in colours) >= 3


def test_words_can_be_read():
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text
    assert contrast(INK, GROUND) > 4.5
    assert contrast(SOFT_INK, GROUND) > 4.5
    assert contrast(INK_ON_DARK, GROUND_ON_DARK) > 4.5
    assert contrast(SOFT_INK_ON_DARK, GROUND_ON_DARK) > 4.5


@pytest.mark.filterwarnings("ignore:.*tritanomaly")
@pytest.mark.parametrize("colours", [SERIES, SERIES_ON_DARK], ids=["light", "dark"])
@pytest.mark.parametrize("kind", [None, "Protanomaly", "Deuteranomaly", "Tritanomaly"])
def test_colours_differ_to_colour_blind_eyes(colours, kind):
    """Vision without one kind of cone, after Machado, Oliveira and Fernandes 2009."""
    matrix = np.eye(3) if kind is None else colour.blindness.matrix_cvd_Machado2009(kind, 1.0)
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    seen = [np.clip(matrix @ linear(c), 0, 1) for c in colours]
    lab = [colour.XYZ_to_Lab(colour.RGB_to_XYZ(c, "sRGB"), white) for c in seen]

    def least(some):
        return min(float(colour.delta_E(a, b, method="CIE 2000")) for a, b in combinations(some, 2))

    # ten is seen at a glance (common practice, no source); four settings are the most that a
    # page shows side by side at first
    assert least(lab) > 10
    assert least(lab[:4]) > 15


def test_patterns_and_marks_tell_settings_apart_without_colour():
    looks = [look_of(Setting(i, f"s{i}", ())) for i in range(16)]
    assert len({(str(one.pattern), one.mark) for one in looks[:8]}) == 8
    assert len({(one.colour, str(one.pattern), one.mark) for one in looks}) == 16
    assert len(PATTERNS) == len(MARKS) == len(SERIES) == len(SERIES_ON_DARK)


def test_days_stand_where_they_stand_whatever_time_zone_a_person_set():
    def drawn():
        with drawing() as (figure, axis):
            axis.plot([date(2026, 3, 1), date(2026, 3, 15)], [1.0, 2.0])
            return svg_text(figure)

    usual = drawn()
    with mpl.rc_context({"timezone": "America/Los_Angeles"}):
        assert drawn() == usual


@pytest.mark.parametrize("legacy", ["1.13", "1.25"])
def test_a_plot_is_the_same_however_numbers_are_printed(legacy):
    def drawn():
        with drawing() as (figure, axis):
            axis.plot([0, 1], [0.3, 0.7])
            return svg_text(figure)

    usual = drawn()
    with np.printoptions(legacy=legacy):
        assert drawn() == usual
