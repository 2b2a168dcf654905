"""Rankings of prints that lack some of the numbers, and ladders of few points: what counts then."""

import json
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from dotloupe.compare.ladder.outstanding import departures
from dotloupe.compare.ladder.recommendation import recommend
from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility.eye_model import FREQUENCIES, gaussian_mtf
from dotloupe.compare.visibility.visible_steps import visible_scales
from dotloupe.measurement import PictureMeasurement
from dotloupe.number import Number
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.ladder import recommendation_sentence
from dotloupe.storage.plain_values import plain

from .invented import saturating_ladder, shot, shots, visibility_between


def test_of_five_points_the_one_that_stands_out_is_named_alone():
    """With it left out four are left, too few to hold any other against the rest."""
    ppi = np.array([240.0, 300, 450, 600, 1200])
    true = np.log(5 * (1 + (150 / ppi) ** 2) ** -0.5)
    errors = np.full(5, 0.002)
    planted = true + np.log(1.10) * (ppi == 450)
    found = departures(ppi, planted, errors, 10.0)
    assert [d.outstanding for d in found] == [False, False, True, False, False]
    assert found[2].low < 10 < found[2].high
    assert not any(d.outstanding for d in departures(ppi, true, errors, 10.0))
    assert departures(ppi[:4], true[:4], errors[:4], 10.0) == ()


def test_settings_without_a_number_in_common_have_no_overall():
    ranking = rank({"a": shots("a", detail_x=4.0), "b": shots("b", grain=0.5)})
    assert ranking.overall is None
    assert ranking.criteria["overall"].places == ()
    left_out = "overall leaves out grain: not every setting has it"
    assert left_out in caution_texts(ranking.cautions)
    assert ranking.visibility == ()


def test_prints_that_never_hold_all_numbers_have_no_overall():
    parts = [shot("a0", {"detail_x": 4.0}), shot("a1", {"grain": 0.5})]
    ranking = rank({"a": parts, "b": shots("b", detail_x=5.0, grain=0.5)})
    assert ranking.overall is None
    assert {p.setting: p.n for p in ranking.criteria["grain"].places} == {"a": 1, "b": 4}


def test_a_print_that_lacks_a_number_is_not_in_overall():
    whole, other = shots("a", detail_x=4.0, grain=0.5), shots("b", 2, detail_x=5.0, grain=0.5)
    ranking = rank({"a": [*whole, shot("a9", {"detail_x": 4.0})], "b": other})
    n = {p.setting: p.n for p in ranking.criteria["overall"].places}
    assert n == {"a": 4, "b": 4}
    assert {p.n for p in ranking.criteria["detail_x"].places} == {4, 5}


@pytest.mark.parametrize(
    ("unit", "weights"),
    [("cycles/mm", {"response_x": 0.5, "response_y": 0.5}), ("cycles/picture pixel", None)],
)
def test_photographs_of_ones_own_picture_are_ranked_by_its_response(unit, weights):
    """In mm it can be weighed by what an eye sees; where the size is unknown it can not."""

    def own(setting, seed, response):
        rng = np.random.default_rng(seed)
        values = response * (1 + 0.01 * rng.standard_normal((4, 2)))
        return [
            shot(
                f"{setting}{i}",
                {"response_x": x, "response_y": y},
                kind=PictureMeasurement,
                unit=unit,
            )
            for i, (x, y) in enumerate(values)
        ]

    ranking = rank({"soft": own("a", 1, 3.0), "sharp": own("b", 2, 6.0)})
    if weights is None:
        assert ranking.overall is None
    else:
        assert ranking.parameters["weights"] == weights
        assert [p.setting for p in ranking.criteria["overall"].places] == ["sharp", "soft"]


def test_measured_responses_are_stretched_to_one_width():
    """Gaussian responses of any MTF50 are one Gaussian when stretched to one MTF50."""
    frequency = np.linspace(0, 40, 4001)

    def measured(name, mtf50):
        curve = np.exp(-np.log(2) * (frequency / mtf50) ** 2)
        curve[-5:] = np.nan  # what is not known counts for nothing
        told = SimpleNamespace(frequency=frequency, mtf=curve)
        return shot(name, {"detail_x": mtf50}, directions={"detail_x": told})

    curves = {"a": [measured("a", 2.0), measured("b", 4.0)]}
    figures = {"a": [shot("c", {"detail_x": 2.0}), shot("d", {"detail_x": 4.0})]}
    found, expected = (visible_scales(s, 350.0)["detail_x"] for s in (curves, figures))
    # root mean square of 2 and 4
    assert expected.values[100] == pytest.approx(np.sqrt(10))
    near = slice(70, 131)  # widths within a factor of three of it
    assert found.steps[found.viewing, near] - found.steps[found.viewing, 100] == pytest.approx(
        expected.steps[expected.viewing, near] - expected.steps[expected.viewing, 100], abs=0.02
    )
    assert gaussian_mtf(3.0)[np.searchsorted(FREQUENCIES, 3.0)] == pytest.approx(0.5, abs=0.03)


def test_prints_without_any_error_known_may_differ_by_anything():
    def alone(name, grain):
        made = shot(name, {"grain": grain})
        made.numbers["grain"] = Number(grain, np.nan, np.nan, "L* rms")
        return [made]

    (by,) = visibility_between(rank({"a": alone("a", 0.4), "b": alone("b", 0.8)}), "a", "b").by
    assert by.steps > 1
    assert by.steps_interval == (0.0, np.inf)
    assert by.interval == (0.0, 20_000.0)


def test_a_second_saved_is_none():
    found = recommend(
        saturating_ladder([150.0, 240, 300, 600, 1200], 60.0), 1000.0, seconds={150: 60, 1200: 60.5}
    )
    assert found.action == "resize"
    assert recommendation_sentence(found).endswith(", and the print takes as long.")
    assert json.loads(json.dumps(found.to_dict()))["send_ppi"] == found.send_ppi


def test_a_capture_is_measured_where_it_is_ranked(monkeypatch):
    made = {s: shots(s, grain=g) for s, g in (("a", 0.4), ("b", 0.8))}
    captures = {s: [object() for _ in group] for s, group in made.items()}
    by_capture = {id(c): m for s in made for c, m in zip(captures[s], made[s], strict=True)}
    monkeypatch.setattr("dotloupe.evaluate.measure_capture", lambda c: by_capture[id(c)])
    assert rank(captures).to_dict() == rank(made).to_dict()


def test_results_become_what_json_knows():
    held = {1: np.float32(0.5), "a": np.array([1.0, np.nan]), "b": date(2026, 3, 12), "c": {2}}
    assert plain(held) == {"1": 0.5, "a": [1.0, None], "b": "2026-03-12", "c": [2]}
    assert plain((np.bool_(True), np.inf, None)) == [True, None, None]
