"""Effects of crossed factors: worked examples, least squares, missing cells, few prints."""

from itertools import product

import numpy as np
import pytest
from scipy import stats

from dotloupe.compare.effects import CostKind, effects, plan_design
from dotloupe.compare.effects.costs import cost_differences
from dotloupe.compare.effects.criterion_effects import criterion_effects
from dotloupe.compare.effects.design import Factor
from dotloupe.compare.effects.estimates import Spread, SpreadSource, _own_spreads
from dotloupe.compare.effects.planning import prints_needed
from dotloupe.compare.known_spread import KnownSpread
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.errors import InputError
from dotloupe.number import CRITERIA

GRAIN = CRITERIA["grain"]
PILOT_PLANT = {
    (160, 20, "A"): (59, 61),
    (180, 20, "A"): (74, 70),
    (160, 40, "A"): (50, 58),
    (180, 40, "A"): (69, 67),
    (160, 20, "B"): (50, 54),
    (180, 20, "B"): (81, 85),
    (160, 40, "B"): (46, 44),
    (180, 40, "B"): (79, 81),
}
BOX = "Box, Hunter and Hunter, Statistics for Experimenters (2005), chapter 5"

BATTERY = {
    ("1", 15): (130, 155, 74, 180),
    ("1", 70): (34, 40, 80, 75),
    ("1", 125): (20, 70, 82, 58),
    ("2", 15): (150, 188, 159, 126),
    ("2", 70): (136, 122, 106, 115),
    ("2", 125): (25, 70, 58, 45),
    ("3", 15): (138, 110, 168, 160),
    ("3", 70): (174, 120, 150, 139),
    ("3", 125): (96, 104, 82, 60),
}
MONTGOMERY = "Montgomery, Design and Analysis of Experiments, chapter 5"


def of(table, **names):
    """Effects of a table of values, the names of its factors and their levels given."""
    factors = tuple(Factor(name, levels) for name, levels in names.items())
    samples = {
        cell: Sample(
            str(cell),
            tuple(PrintValue(str(i), float(v), float("nan"), 1) for i, v in enumerate(values)),
        )
        for cell, values in table.items()
    }
    return criterion_effects(GRAIN, factors, samples)


def differences(found):
    return {(e.contrast.factor, e.contrast.start, e.contrast.end): e.estimate for e in found}


def invented(shape, seed, n, *, spread=1.0):
    rng = np.random.default_rng(seed)
    levels = [tuple("abc"[:k]) for k in shape]
    cells = list(product(*levels))
    names = dict(zip(("first", "second", "third"), levels, strict=False))
    return {c: rng.normal(10, spread, n) for c in cells}, names


def test_the_pilot_plant_to_the_printed_digits(outside_check):
    found = of(PILOT_PLANT, temperature=(160, 180), concentration=(20, 40), catalyst=("A", "B"))
    by = {e.contrast.factor: e.estimate for e in found.effects}
    # the book halves the difference of differences
    halves = {i.contrast.factors: i.estimate.difference / 2 for i in found.interactions}
    for claim, value, ours in (
        ("effect of temperature on yield", 23.0, by["temperature"].difference),
        ("effect of concentration on yield", -5.0, by["concentration"].difference),
        ("effect of the catalyst on yield", 1.5, by["catalyst"].difference),
        ("interaction of temperature and catalyst", 10.0, halves["temperature", "catalyst"]),
        (
            "interaction of temperature and concentration",
            1.5,
            halves["temperature", "concentration"],
        ),
        ("interaction of concentration and catalyst", 0.0, halves["concentration", "catalyst"]),
        ("variance of repeats", 8.0, found.spread.variance),
    ):
        outside_check(f"pilot plant, {claim}", BOX, value, ours, abs=1e-9, memory=True)
    claim = "pilot plant, standard error of an effect"
    outside_check(claim, BOX, 1.4, by["catalyst"].standard_error, abs=0.05, memory=True)
    assert {e.n for e in by.values()} == {16}
    assert found.spread.degrees == 8
    claimed = [i.contrast.factors for i in found.interactions if i.estimate.distinguishable]
    assert claimed == [("temperature", "catalyst")]


def test_the_battery_to_the_printed_digits(outside_check):
    found = of(BATTERY, material=("1", "2", "3"), temperature=(15, 70, 125))
    by = differences(found.effects)
    at_70 = {
        (e.contrast.start, e.contrast.end): e.estimate.difference
        for e in found.simple_effects
        if e.contrast.within == {"temperature": 70}
    }
    for claim, value, ours, off in (
        ("variance within cells", 675.21, found.spread.variance, 0.005),
        ("materials 1 and 2", 108.33 - 83.17, by["material", "1", "2"].difference, 0.01),
        ("materials 1 and 3", 125.08 - 83.17, by["material", "1", "3"].difference, 0.01),
        ("15 and 125 degrees", 64.17 - 144.83, by["temperature", 15, 125].difference, 0.01),
        ("materials 1 and 3 at 70 degrees", 145.75 - 57.25, at_70["1", "3"], 1e-9),
    ):
        outside_check(f"battery life, {claim}", MONTGOMERY, value, ours, abs=off, memory=True)
    assert found.spread.degrees == 27
    assert len(found.interactions) == 9


@pytest.mark.parametrize(("shape", "n"), [((2, 2), 3), ((2, 3), 2), ((2, 2, 2), 2), ((3, 3), 4)])
def test_balanced_tables_are_those_of_least_squares(shape, n):
    """Contrasts and pooled error against an ordinary regression on cell means."""
    table, names = invented(shape, 3, n)
    found = of(table, **names)
    cells = list(table)
    values = np.concatenate(list(table.values()))
    design = np.repeat(np.eye(len(cells)), n, axis=0)
    means, residual, *_ = np.linalg.lstsq(design, values, rcond=None)
    variance = residual[0] / (len(values) - len(cells))
    assert found.spread.variance == pytest.approx(variance)
    for one in (*found.effects, *found.simple_effects, *found.interactions):
        w = np.array([one.contrast.weights.get(c, 0.0) for c in cells])
        assert one.estimate.difference == pytest.approx(w @ means)
        pooled = np.sqrt(variance * w @ np.linalg.inv(design.T @ design) @ w)
        size = len(
            found.interactions
            if one in found.interactions
            else found.effects
            if one in found.effects
            else found.simple_effects
        )
        error = 1 - 0.95 ** (1 / size)
        half = pooled * stats.t.ppf(1 - error / 2, len(values) - len(cells))
        assert one.estimate.high - one.estimate.low >= 2 * half * (1 - 1e-9)


def test_the_interval_leaves_out_zero_where_the_adjusted_p_value_is_small():
    for seed in range(30):
        table, names = invented((2, 3), seed, 3)
        found = of(table, **names)
        for one in (*found.effects, *found.simple_effects, *found.interactions):
            estimate = one.estimate
            assert estimate.distinguishable == (estimate.low > 0 or estimate.high < 0)
            assert estimate.distinguishable == (estimate.p_value < 0.05)


def test_missing_cells_are_left_out_of_both_levels():
    table, names = invented((2, 3), 1, 3)
    del table[("b", "c")]
    found = of(table, **names)
    effect = next(e for e in found.effects if e.contrast.factor == "first")
    mean = {c: v.mean() for c, v in table.items()}
    shared = np.mean([mean[("b", x)] - mean[("a", x)] for x in "ab"])
    assert effect.estimate.difference == pytest.approx(shared)
    assert effect.contrast.unpaired == (("a", "c"),)
    assert [c.combinations for c in found.cautions] == [("b, c",)]
    asked = {(i.contrast.start, i.contrast.end) for i in found.interactions}
    assert asked == {(("a", "a"), ("b", "b"))}


def test_without_repeats_the_higher_interactions_give_the_spread():
    table, names = invented((2, 2, 2), 5, 1)
    found = of(table, **names)
    assert found.interaction_spread.source is SpreadSource.HIGHER_ORDER
    assert found.interaction_spread.degrees == 1
    signs = np.array([(-1) ** sum(level == "b" for level in c) for c in table])
    three = signs @ np.array([v[0] for v in table.values()])
    assert found.interaction_spread.variance == pytest.approx(three**2 / 8)
    table, names = invented((2, 2), 5, 1)
    found = of(table, **names)
    assert found.spread.degrees == 1
    assert found.interactions[0].estimate.low is None
    assert not found.interactions[0].estimate.distinguishable


def test_a_history_gives_the_spread_of_single_prints():
    table, names = invented((2, 2), 5, 1)
    factors = tuple(Factor(name, levels) for name, levels in names.items())
    samples = {
        c: Sample(str(c), (PrintValue("0", float(v[0]), float("nan"), 1),))
        for c, v in table.items()
    }
    known = KnownSpread(0.02**2, 30.0, by_ratio=True)
    found = criterion_effects(GRAIN, factors, samples, known=known)
    mean = np.mean([s.mean for s in samples.values()])
    (one,) = found.interactions
    assert one.estimate.standard_error == pytest.approx(2 * 0.02 * mean)
    assert one.estimate.high - one.estimate.low == pytest.approx(
        2 * 2 * 0.02 * mean * stats.t.ppf(0.975, 30)
    )
    assert one.ratio.standard_error == pytest.approx(2 * 0.02)
    assert [type(c).__name__ for c in found.cautions] == ["SpreadByHistory"]


def test_what_rests_on_a_lower_bound_has_no_interval():
    table, names = invented((2, 2), 5, 3)
    factors = tuple(Factor(name, levels) for name, levels in names.items())
    samples = {
        c: Sample(
            str(c),
            tuple(
                PrintValue(str(i), float(x), float("nan"), 1, 9.0 if c == ("b", "b") else None)
                for i, x in enumerate(v)
            ),
        )
        for c, v in table.items()
    }
    found = criterion_effects(GRAIN, factors, samples)
    assert all(e.estimate.low is None for e in (*found.effects, *found.interactions))
    known = [e.contrast.within for e in found.simple_effects if e.estimate.low is not None]
    assert known == [{"first": "a"}, {"second": "a"}]
    assert [c.combinations for c in found.cautions] == [("b, b",)]


def test_unequal_spreads_are_noticed():
    rng = np.random.default_rng(2)
    table = {c: rng.normal(10, 5.0 if c == ("a", "a") else 0.3, 5) for c in product("ab", "ab")}
    found = of(table, first=("a", "b"), second=("a", "b"))
    (caution,) = found.cautions
    assert (caution.most, caution.ratio > 3) == ("a, a", True)


def test_effects_that_are_equal_shares_interact_in_the_unit_alone():
    rng = np.random.default_rng(4)
    true = {("a", "a"): 1.0, ("a", "b"): 0.8, ("b", "a"): 4.0, ("b", "b"): 3.2}
    table = {c: v * np.exp(rng.normal(0, 0.02, 4)) for c, v in true.items()}
    (found,) = of(table, first=("a", "b"), second=("a", "b")).interactions
    assert found.estimate.distinguishable
    assert not found.ratio.distinguishable


def test_two_settings_of_the_same_levels_are_refused():
    levels = {"x": {"mode": "fast"}, "y": {"mode": "slow"}, "z": {"mode": "slow"}}
    with pytest.raises(InputError, match="z: the same levels as y"):
        effects(dict.fromkeys(levels, ()), levels)
    with pytest.raises(InputError, match="no factor differs"):
        effects({"x": (), "y": ()}, {"x": {"mode": "a"}, "y": {"mode": "a"}})


def test_the_prints_planned_find_what_they_promise():
    levels = {f"{m}{a}": {"mode": m, "alignment": a} for m, a in product("ab", "ab")}
    plan = plan_design(levels, repeats={"grain": 0.05})
    need = next(n for n in plan.needed if n.share == 0.10)
    assert plan.missing == ()
    rng = np.random.default_rng(3)
    hits = 0
    for _ in range(200):
        table = {
            c: 1 + 0.1 * (c[0] == "b") + rng.normal(0, 0.05, need.for_effects)
            for c in product("ab", "ab")
        }
        found = of(table, mode=("a", "b"), alignment=("a", "b"))
        hits += found.effects[0].estimate.distinguishable
    # 80 of 100 are promised; 200 tests leave 5.7 about it, and own spreads cost a little
    assert 0.68 <= hits / 200 <= 0.95
    del levels["bb"]
    plan = plan_design(levels, repeats={"grain": 0.05})
    assert plan.missing == (("b", "b"),)
    assert plan.interactions == 0


def test_prints_needed_agree_with_the_noncentral_t():
    """Two levels: the usual power of a two-sample t test, by SciPy's noncentral t."""
    family = [{("a",): -1.0, ("b",): 1.0}]
    n = prints_needed(family, 2, 1.5)
    power = [
        stats.nct.sf(stats.t.ppf(0.975, 2 * k - 2), 2 * k - 2, 1.5 * np.sqrt(k / 2))
        for k in (n - 1, n)
    ]
    assert power[0] < 0.8 <= power[1]


def test_costs_stand_beside_the_levels_that_they_are_of():
    factors = (Factor("mode", ("a", "b")), Factor("paper", ("c", "d")))
    seconds = {("a", "c"): 20.0, ("a", "d"): 30.0, ("b", "c"): 70.0, ("b", "d"): 90.0}
    costs = {cell: {CostKind.SECONDS: s} for cell, s in seconds.items()}
    found = {c.factor: (c.at_start, c.at_end) for c in cost_differences(factors, costs)}
    assert found == {"mode": (25.0, 80.0), "paper": (45.0, 60.0)}
    del costs[("a", "c")][CostKind.SECONDS]
    assert list(cost_differences(factors, costs)) == []


def test_cells_with_spreads_of_their_own_have_welchs_degrees():
    """Two cells of five prints, alike in spread.

    Welch's t has 8 degrees, as scipy says; Welch 1947 (from memory) corrects them by
    (sum of p)^2 / sum of p^2 / (d + 2) - 2, which is 10 here. The more serves.
    """
    values = 2 * np.arange(1.0, 6.0), 2 * np.arange(2.0, 7.0)
    cells = [
        Sample(name, tuple(PrintValue(f"{name}{v}", v, 0.0, 1) for v in cell))
        for name, cell in zip("ab", values, strict=True)
    ]
    found = _own_spreads(np.array([1.0, -1.0]), cells, Spread(SpreadSource.REPEATS, 10.0, 100.0))
    welch = stats.ttest_ind(*values, equal_var=False)
    assert welch.df == pytest.approx(8)
    assert found.size == pytest.approx(abs(2.0 / welch.statistic))
    assert found.degrees == pytest.approx(10)
