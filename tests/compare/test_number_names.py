"""What people are told a number is called."""

import pytest

from dotloupe.compare.number_names import number_title


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("detail_x", "Detail along x (MTF50)"),
        ("detail_dark_y", "Detail along y in dark tones (MTF50)"),
        ("visual_graininess_grey80", "Visible grain, grey that reflects 80 %"),
        ("mottle_light_cyan", "Mottle, light cyan"),
        ("dot_spacing_grey80", "Spacing of dots, grey that reflects 80 %"),
        ("offset_yellow_x", "Yellow against black along x"),
        ("passes_apart_y", "Passes apart along y"),
    ],
)
def test_a_number_by_itself(name, title):
    assert number_title(name) == title
