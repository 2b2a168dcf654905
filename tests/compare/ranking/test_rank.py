"""Rankings of simulated measurements: ties, nesting, refusals, overall."""

import json
from dataclasses import replace

import numpy as np
import pytest

from dotloupe.compare.cautions import (
    NotInOverall,
    NoValue,
    OnePrintEach,
    WithinUnnoticedFaults,
)
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.cautions import caution_texts

TYPICAL = {
    "detail_x": 4.0,
    "detail_y": 4.2,
    "line_pairs_x": 8.0,
    "line_pairs_y": 8.0,
    "grain": 0.8,
}


def photograph(setting, print_id, shot, values, *, error=0.01, fit=True, sent_ppi=600.0):
    numbers = {
        name: Number(v, v * (1 - 1.96 * error), v * (1 + 1.96 * error), CRITERIA[name].unit)
        for name, v in values.items()
    }
    name = f"{setting}-{print_id}-{shot}"
    reasons = () if fit else ("out of focus",)
    return Measurement(f"{name}.tif", name, str(print_id), 1, sent_ppi, fit, reasons, (), numbers)


def prints(setting, rng, *, n=3, shots=1, spread=0.02, shot_spread=0.003, **changed):
    """Simulated measurements: prints differ by `spread`, photographs of one by `shot_spread`."""
    true = TYPICAL | changed
    made = []
    for i in range(n):
        of_print = {c: v * (1 + spread * rng.standard_normal()) for c, v in true.items()}
        for shot in range(shots):
            seen = {c: v * (1 + shot_spread * rng.standard_normal()) for c, v in of_print.items()}
            made.append(photograph(setting, i, shot, seen))
    return made


def test_pinned_json():
    rng = np.random.default_rng(1)
    ranking = rank({"fast": prints("fast", rng), "fine": prints("fine", rng, grain=0.4)})
    found = json.loads(json.dumps(ranking.to_dict(), allow_nan=False))
    assert set(found["criteria"]) == {*CRITERIA, "overall"}
    grain = found["criteria"]["grain"]
    assert (grain["unit"], grain["better"]) == ("L* rms", "lower")
    first, second = grain["places"]
    assert {"setting", "place", "tied_with", "value", "low", "high", "n"} <= set(first)
    assert (first["setting"], first["place"], first["tied_with"]) == ("fine", 1, [])
    assert (second["setting"], second["place"], second["n"]) == ("fast", 2, 3)
    assert first["low"] < first["value"] < first["high"]
    assert found["captures"]["fast"][0]["sha256"] == "fast-0-0"


def test_equal_settings_tie():
    rng = np.random.default_rng(2)
    ranking = rank({"left": prints("left", rng), "right": prints("right", rng)})
    places = ranking.criteria["detail_x"].places
    assert [p.place for p in places] == [1, 1]
    assert places[0].tied_with == (places[1].setting,)


@pytest.mark.parametrize(
    ("detail", "n", "said"), [(4.3, 1, True), (4.3, 3, False), (4.6, 1, False), (4.01, 1, False)]
)
def test_single_prints_apart_by_less_than_an_unnoticed_fault_costs_are_named(detail, n, said):
    """Faults of a photograph are warned of from a tenth of MTF50 on; repeats hold smaller ones."""
    rng = np.random.default_rng(6)
    settings = {
        name: prints(name, rng, n=n, spread=0.001, shot_spread=0.001, **changed)
        for name, changed in (("soft", {}), ("sharp", {"detail_x": detail}))
    }
    cautions = rank(settings).criteria["detail_x"].cautions
    expected = WithinUnnoticedFaults((("sharp", "soft"),), 10.0)
    assert (expected in cautions) is said


def test_photographs_of_one_print_are_no_repeats():
    rng = np.random.default_rng(4)
    # two prints that differ by chance, photographed twenty times each
    many = {s: prints(s, rng, n=1, shots=20, spread=0.05) for s in ("a", "b")}
    detail = rank(many).criteria["detail_x"]
    assert [p.n for p in detail.places] == [1, 1]
    assert detail.scope == "prints"
    assert detail.cautions[0] == OnePrintEach()
    # two prints a setting: 20 photographs each leave one degree of freedom a setting
    claims = 0
    for _ in range(20):
        nested = {s: prints(s, rng, n=2, shots=20, spread=0.05) for s in ("a", "b")}
        claims += rank(nested).criteria["detail_x"].places[1].place == 2
    # at 5 % at most 3 of 20 in 98 % of trials; counting photographs as repeats gives over 15
    assert claims <= 3


def test_one_print_beside_repeated_ones_borrows_their_spread():
    rng = np.random.default_rng(5)
    ranking = rank({"a": prints("a", rng, n=1), "b": prints("b", rng, n=4, detail_x=4.1)})
    detail = ranking.criteria["detail_x"]
    single = next(p for p in detail.places if p.setting == "a")
    # t(3) = 3.18 times the spread between prints of b, not the 2 % of one photograph
    assert single.high - single.value == pytest.approx(
        3.182
        * np.std([p.value for p in detail.places if p.setting == "b" for p in p.prints], ddof=1),
        rel=1e-3,
    )
    assert any("assumed to vary" in c for c in caution_texts(detail.cautions))


def test_unfit_captures_are_left_out_and_listed():
    rng = np.random.default_rng(6)
    bad = photograph("a", 9, 0, {"detail_x": 1.0}, fit=False)
    ranking = rank({"a": [*prints("a", rng), bad], "b": prints("b", rng)})
    assert [(o.setting, o.path) for o in ranking.left_out] == [("a", "a-9-0.tif")]
    assert ranking.criteria["detail_x"].places[0].n == 3


def test_photographs_named_as_one_print_whose_marks_say_two():
    # measured: 4.0 by two photographs that show run 1, and 9.0 by one that shows run 2
    rng = np.random.default_rng(8)
    shots = [photograph("a", "print1", i, TYPICAL) for i in range(2)]
    stray = replace(photograph("a", "print1", 2, TYPICAL | {"detail_x": 9.0}), run=2)
    ranking = rank({"a": [*shots, stray], "b": prints("b", rng)})
    (left_out,) = ranking.left_out
    assert left_out.path == "a-print1-2.tif"
    (reason,) = left_out.reasons
    assert (reason.run, reason.other_path) == (2, "a-print1-0.tif")
    (place,) = (p for p in ranking.criteria["detail_x"].places if p.setting == "a")
    assert place.value == pytest.approx(4.0)


def test_refusals_say_what_to_do():
    rng = np.random.default_rng(7)
    one = prints("a", rng)
    with pytest.raises(InputError, match="at least 2"):
        rank({"a": one})
    with pytest.raises(InputError, match="same photograph"):
        rank({"a": one, "b": one})
    unfit = [photograph("b", 0, 0, {}, fit=False)]
    with pytest.raises(NotFitError, match=r"b-0-0\.tif: out of focus"):
        rank({"a": one, "b": unfit})
    with pytest.raises(InputError, match="unknown criterion"):
        rank({"a": one, "b": prints("b", rng)}, weights={"colour": 1})
    with pytest.raises(InputError, match="not all 0"):
        rank({"a": one, "b": prints("b", rng)}, weights={"grain": 0})


def test_a_setting_without_a_criterion_is_named():
    rng = np.random.default_rng(8)
    blind = [photograph("b", i, 0, {"detail_x": 4 + 0.1 * rng.standard_normal()}) for i in range(3)]
    ranking = rank({"a": prints("a", rng), "b": blind})
    assert ranking.criteria["grain"].cautions[0] == NoValue("b")
    assert set(ranking.overall.weights) == {"detail_x"}
    missing = ("detail_y", "line_pairs_x", "line_pairs_y", "grain")
    assert NotInOverall(missing) in ranking.cautions


def test_contributions_add_up_to_overall():
    rng = np.random.default_rng(9)
    ranking = rank(
        {"a": prints("a", rng), "b": prints("b", rng, grain=0.3), "c": prints("c", rng, n=5)}
    )
    for place in ranking.criteria["overall"].places:
        shares = ranking.overall.contributions[place.setting]
        assert place.value == pytest.approx(sum(shares.values()), abs=1e-9)


def test_weights_decide_only_where_settings_trade_one_thing_for_another():
    rng = np.random.default_rng(10)
    sharp = prints("sharp", rng, detail_x=6, detail_y=6, line_pairs_x=12, line_pairs_y=12)
    smooth = prints("smooth", rng, grain=0.2)
    ranking = rank({"sharp": sharp, "smooth": smooth})
    assert ranking.overall.winner_depends_on_weights
    assert ranking.overall.winner_by_criterion["grain"] == "smooth"
    factor = ranking.overall.weights_may_change_by
    # at the factor named, the least favourable weights tie; a little beyond, the winner changes
    for beyond, expected in ((0.99, True), (1.01, False)):
        winner = ranking.overall.winner
        rival = "smooth" if winner == "sharp" else "sharp"
        shares = ranking.overall.contributions
        bent = {}
        for c, w in ranking.overall.weights.items():
            gains = shares[winner][c] > shares[rival][c]
            bent[c] = w / (factor * beyond) if gains else w * factor * beyond
        again = rank({"sharp": sharp, "smooth": smooth}, weights=bent)
        assert (again.overall.winner == winner) == expected
    dominant = prints("dominant", rng, detail_x=6, detail_y=6, line_pairs_x=12, line_pairs_y=12,
                      grain=0.2)  # fmt: skip
    ranking = rank({"dominant": dominant, "plain": prints("plain", rng)})
    assert not ranking.overall.winner_depends_on_weights
    assert ranking.overall.weights_may_change_by is None


@pytest.mark.parametrize("seed", range(3))
def test_five_settings_come_in_true_order_where_neighbours_differ_enough(seed):
    rng = np.random.default_rng(seed)
    true = {f"s{i}": 3.0 * 1.2**i for i in range(5)}
    ranking = rank({s: prints(s, rng, n=4, detail_x=v) for s, v in true.items()})
    detail = ranking.criteria["detail_x"]
    order = [p.setting for p in detail.places]
    place = {p.setting: p.place for p in detail.places}
    for pair in detail.pairs:
        if abs(true[pair.setting] - true[pair.other]) > pair.smallest_difference:
            assert order.index(pair.setting) < order.index(pair.other)
            assert true[pair.setting] > true[pair.other]
            assert place[pair.setting] <= place[pair.other]


def test_an_interval_of_what_cannot_be_negative_ends_at_zero():
    rng = np.random.default_rng(5)
    grain = [photograph("b", i, 0, {"grain": g}) for i, g in enumerate((0.01, 0.02, 0.3))]
    other = [photograph("a", i, 0, {"grain": 1 + 0.1 * rng.standard_normal()}) for i in range(3)]
    places = {p.setting: p for p in rank({"a": other, "b": grain}).criteria["grain"].places}
    assert places["b"].low == 0
    assert places["b"].high > places["b"].value > 0


def test_criteria_that_no_setting_has_are_not_said_to_be_left_out():
    measured = {s: [photograph(s, i, 0, {"grain": 1 + i / 10}) for i in range(3)] for s in "ab"}
    assert not any(isinstance(c, NotInOverall) for c in rank(measured).cautions)
