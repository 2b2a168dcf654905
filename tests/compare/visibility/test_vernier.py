"""From when on a misplaced ink matters."""

import pytest

from dotloupe.compare.visibility.vernier import alignment, just_visible_um


def test_limit_at_the_usual_distance():
    """Ten seconds of arc at 350 mm: 350000 um * tan(10/3600 deg) = 16.97 um (closed form).

    Visible misplacement begins at 12 to 25 um by vernier acuity (Bernal, Allebach and Pizlo 2007).
    """
    assert just_visible_um(350) == pytest.approx(16.97, abs=0.005)
    assert 12 < just_visible_um(350) < 25
    assert just_visible_um(700) == pytest.approx(2 * just_visible_um(350))


@pytest.mark.parametrize(
    ("interval", "said"),
    [((0.5, 3.0), "aligned"), ((18.0, 25.0), "misaligned"), ((-25.0, -18.0), "misaligned"),
     ((15.0, 19.0), "undecided"), ((-32.0, 32.0), "undecided"),
     ((float("-inf"), float("inf")), "undecided")],
)  # fmt: skip
def test_alignment_goes_by_both_ends_of_the_interval(interval, said):
    assert alignment(interval, 350) == said
