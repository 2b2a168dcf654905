"""What to send, against the closed form of the simulated ladder."""

import json

import numpy as np
import pytest
from compare.invented import saturating_ladder

from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ladder.recommendation import recommend
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.ladder import recommendation_sentence

PPI = [150.0, 200, 300, 360, 450, 600, 720, 1200]


def simulated(knees, rng, ppi=PPI):
    """Simulated prints whose blurs add in quadrature, with a knee for each direction."""

    def one(p, i):
        numbers = {}
        for name, knee in knees.items():
            v = 5 * (1 + (knee / p) ** 2) ** -0.5 * (1 + 0.004 * rng.standard_normal())
            numbers[name] = Number(v, 0.99 * v, 1.01 * v, CRITERIA[name].unit)
        return Measurement(f"{p}-{i}", f"{p}-{i}", str(i), 1, p, True, (), (), numbers)

    return ladder({p: [one(p, i) for i in range(3)] for p in ppi})


@pytest.fixture(scope="module")
def climbed():
    # 95 % at 3.04 knees: 365 ppi along x, 456 ppi along y
    return simulated({"detail_x": 120.0, "detail_y": 150.0}, np.random.default_rng(1))


def test_more_than_enough_is_resized_to_what_the_harder_direction_needs(climbed):
    found = recommend(climbed, 1000.0, print_mm=(254, 127), seconds={300: 60, 1200: 240})
    assert found.action == "resize"
    assert found.send_ppi in (450, 600)
    assert found.send_ppi == climbed.criteria["detail_y"].rise.enough_ppi
    true = [
        100 * (np.sqrt((1 + (k / 1000) ** 2) / (1 + (k / found.send_ppi) ** 2)) - 1)
        for k in (120, 150)
    ]
    assert found.detail_interval[0] < min(true) < found.detail_interval[1]
    assert found.detail_interval[0] < found.detail_percent < found.detail_interval[1]
    # per cent of detail; 0.4 % from print to print of 3 at each of 8 ppi
    assert found.detail_percent == pytest.approx(min(true), abs=1.0)
    assert found.pixels_ratio == pytest.approx((found.send_ppi / 1000) ** 2)
    # 10 x 5 inches
    assert found.megapixels == pytest.approx((50.0, 50 * found.pixels_ratio))
    # straight in pixels between 60 s at 300 and 240 s at 1200 ppi
    assert found.seconds[0] == pytest.approx(60 + 180 * (1000**2 - 300**2) / (1200**2 - 300**2))
    assert f"from 1000 ppi to {found.send_ppi:.0f} ppi" in recommendation_sentence(found)
    # three channels of a byte
    assert "from 50.0 megapixels (150 MB uncompressed) to" in recommendation_sentence(found)
    assert "instead of 3 min 01 s" in recommendation_sentence(found)


def test_fewer_than_enough_is_sent_as_it_is(climbed):
    found = recommend(climbed, 240.0)
    assert (found.action, found.send_ppi, found.detail_percent) == ("send as it is", 240.0, 0.0)
    # the y direction reaches 1/sqrt(1 + (150/240)^2) of its plateau
    assert found.short_of_plateau_percent == pytest.approx(
        100 * (1 - (1 + (150 / 240) ** 2) ** -0.5), abs=2
    )
    assert f"{found.short_of_plateau_percent:.0f} % below" in recommendation_sentence(found)
    sized = recommend(climbed, 240.0, print_mm=(254, 127), seconds={200: 30, 400: 120})
    # 10 x 5 inches of 240 ppi; 30 s and 90 s times (240^2 - 200^2) / (400^2 - 200^2) more
    assert recommendation_sentence(sized).endswith(
        "Its file holds 2.9 megapixels (9 MB uncompressed), and its print takes 43 s."
    )


def test_a_ladder_without_a_plateau_promises_nothing():
    climbed = simulated({"detail_x": 500.0}, np.random.default_rng(2), ppi=PPI[:5])
    found = recommend(climbed, 800.0)
    assert found.action == "send as it is"
    assert "not known" in recommendation_sentence(found)


def test_times_beyond_those_noted_are_not_invented(climbed):
    assert recommend(climbed, 1000.0, seconds={300: 60, 600: 90}).seconds is None


def test_impossible_pictures_are_refused(climbed):
    with pytest.raises(InputError, match="pixels per inch"):
        recommend(climbed, 0.0)
    with pytest.raises(InputError, match="width and height"):
        recommend(climbed, 300.0, print_mm=(0, 100))


def test_a_second_saved_is_none():
    found = recommend(
        saturating_ladder([150.0, 240, 300, 600, 1200], 60.0), 1000.0, seconds={150: 60, 1200: 60.5}
    )
    assert found.action == "resize"
    assert recommendation_sentence(found).endswith(", and the print takes as long.")
    assert json.loads(json.dumps(found.to_dict()))["send_ppi"] == found.send_ppi
