"""Rankings of prints that lack some of the numbers."""

import numpy as np
import pytest
from compare.invented import shot, shots

from dotloupe.compare.cautions import NotInOverall
from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import PictureMeasurement


def test_settings_without_a_number_in_common_have_no_overall():
    ranking = rank({"a": shots("a", detail_x=4.0), "b": shots("b", grain=0.5)})
    assert ranking.overall is None
    assert ranking.criteria["overall"].places == ()
    assert NotInOverall(("detail_x", "grain")) in ranking.cautions
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


def test_a_capture_is_measured_where_it_is_ranked(monkeypatch):
    made = {s: shots(s, grain=g) for s, g in (("a", 0.4), ("b", 0.8))}
    captures = {s: [object() for _ in group] for s, group in made.items()}
    by_capture = {id(c): m for s in made for c, m in zip(captures[s], made[s], strict=True)}
    monkeypatch.setattr("dotloupe.evaluate.measure_capture", lambda c: by_capture[id(c)])
    assert rank(captures).to_dict() == rank(made).to_dict()
