"""From when on a misplaced ink matters."""

import pytest

from dotloupe.compare.visibility.vernier import alignment, just_seen_um


def test_limit_at_the_usual_distance():
    """Ten seconds of arc at 350 mm: 350000 um * tan(10/3600 deg) = 16.97 um (closed form).

    Visible misplacement begins at 12 to 25 um by vernier acuity (Bernal, Allebach and Pizlo 2007).
    """
    assert just_seen_um(350) == pytest.approx(16.97, abs=0.005)
    assert 12 < just_seen_um(350) < 25
    assert just_seen_um(700) == pytest.approx(2 * just_seen_um(350))


@pytest.mark.parametrize(
    ("interval", "said"),
    [((0.5, 3.0), "in"), ((18.0, 25.0), "out"), ((-25.0, -18.0), "out"), ((15.0, 19.0), "open"),
     ((-32.0, 32.0), "open"), ((float("-inf"), float("inf")), "open")],
)  # fmt: skip
def test_an_interval_says_out_in_or_neither(interval, said):
    assert alignment(interval, 350) == said
