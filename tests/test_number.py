"""What people are told a number is called."""

import pytest

from dotloupe.number import Measurand, Quantity


@pytest.mark.parametrize(
    ("measurand", "name", "title"),
    [
        (Measurand(Quantity.DETAIL, "x"), "detail_x", "Detail along x (MTF50)"),
        (
            Measurand(Quantity.DETAIL, "y", tone="dark"),
            "detail_dark_y",
            "Detail along y in dark tones (MTF50)",
        ),
        (
            Measurand(Quantity.VISUAL_GRAININESS, tone="grey80"),
            "visual_graininess_grey80",
            "Visible grain, grey that reflects 80 %",
        ),
        (Measurand(Quantity.MOTTLE, tone="light_cyan"), "mottle_light_cyan", "Mottle, light cyan"),
        (
            Measurand(Quantity.DOT_SPACING, tone="grey80"),
            "dot_spacing_grey80",
            "Spacing of dots, grey that reflects 80 %",
        ),
        (
            Measurand(Quantity.OFFSET, "x", ink="yellow"),
            "offset_yellow_x",
            "Yellow against black along x",
        ),
        (Measurand(Quantity.PASSES_APART, "y"), "passes_apart_y", "Passes apart along y"),
    ],
)
def test_a_number_by_itself(measurand, name, title):
    assert measurand.name == name
    assert measurand.title == title
