"""What else changed between two settings, on invented numbers."""

import numpy as np
import pytest
from compare.invented import shots
from hypothesis import given, strategies as st
from scipy.stats import false_discovery_control

from dotloupe.compare.differences import (
    FALSE_SHARE,
    DifferenceVerdict,
    beyond_chance,
    number_differences,
)
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Measurand, Number, Quantity
from dotloupe.report.text.difference_table import differences
from dotloupe.report.text.scope import SECOND_PRINT

FURTHER = {
    **{
        Measurand(Quantity.VISUAL_GRAININESS, tone=f"grey{n}"): ("L* rms", 0.5, 0.02)
        for n in (10, 25, 40, 60, 80)
    },
    **{
        Measurand(Quantity.OFFSET, axis, ink=ink): ("um", 0.0, 1.0)
        for ink in ("cyan", "magenta")
        for axis in "xy"
    },
    Measurand(Quantity.RAGGEDNESS, "x"): ("um", 8.0, 0.5),
}
NAMES = tuple(m.name for m in FURTHER)


def measurement(setting, number, seed, moved):
    chance = np.random.default_rng(seed)
    numbers = {c: Number(5.0 + 0.01 * number, 4.9, 5.1, CRITERIA[c].unit) for c in CRITERIA}
    for what, (unit, level, spread) in FURTHER.items():
        value = level + moved.get(what.name, 0.0) + spread * chance.standard_normal()
        numbers[what.name] = Number(value, value - 2 * spread, value + 2 * spread, unit, what)
    path = f"{setting}/print{number}.jpg"
    return Measurement(path, f"{setting}{number}", path, 1, 600, True, (), (), numbers)


def ranking(seed, moved):
    before = [measurement("before", i, seed + i, moved) for i in range(4)]
    after = [measurement("after", i, seed + 50 + i, {}) for i in range(4)]
    return rank({"before": before, "after": after})


def test_a_plane_that_moved_is_named_and_the_rest_is_not():
    before_and_after = ranking(100, {"offset_cyan_x": 20.0})
    found = number_differences(before_and_after)
    assert [c.name for c in found if c.differs] == ["offset_cyan_x"]
    moved = next(c for c in found if c.differs)
    assert moved.before == pytest.approx(20, abs=2)
    assert moved.after == pytest.approx(0, abs=2)
    table = differences(before_and_after)
    assert table.settings == ("before", "after")
    (row,) = (r for r in table.rows if r.found is DifferenceVerdict.DIFFERS)
    assert (row.name, row.unit) == ("cyan along x", "um")
    assert "differs by more than repeat prints do: placement of the inks." in table.sentence


def test_what_is_not_measured_well_enough_is_not_called_level():
    """Offsets within 17 um, 10 seconds of arc from 35 cm, are level; an interval beyond is not."""
    found = {c.name: c for c in number_differences(ranking(200, {}))}
    # a spread of 1 um in four prints each
    assert found["offset_cyan_x"].verdict == "level"
    wide = [measurement(s, 0, i, {}) for i, s in enumerate(("before", "after"))]
    for m in wide:
        m.numbers["passes_apart_x"] = Number(
            0.0, 0.0, 80.0, "um", Measurand(Quantity.PASSES_APART, "x")
        )
    compared = rank({"before": wide[:1], "after": wide[1:]})
    single = number_differences(compared)
    passes = next(c for c in single if c.name == "passes_apart_x")
    assert passes.verdict == "open"
    assert passes.pair.high == pytest.approx(40 * 2**0.5, rel=1e-3)
    rows = {r.name: r for r in differences(compared).rows}
    assert rows["passes apart along x"].verdict == "too uncertain"


def test_single_prints_are_never_said_to_differ_beyond_repeats():
    one, other = (
        measurement(s, 0, 300 + i, {"offset_cyan_x": 40.0 * i}) for i, s in enumerate("ab")
    )
    compared = rank({"a": [one], "b": [other]})
    found = number_differences(compared)
    assert any(c.differs for c in found)
    said = differences(compared).sentence
    assert "repeats" not in said
    assert "by more than their own uncertainty: placement of the inks." in said
    assert said.endswith(SECOND_PRINT)


def test_nothing_is_named_where_nothing_changed():
    """At most 5 % of 100 comparisons may name anything; 11 is three standard deviations above."""
    named = sum(
        any(c.differs for c in number_differences(ranking(1000 * i, {}))) for i in range(100)
    )
    assert named <= 11


def test_three_settings_are_refused():
    three = {s: [measurement(s, i, i, {}) for i in range(2)] for s in ("a", "b", "c")}
    with pytest.raises(InputError, match="two settings"):
        number_differences(rank(three))


# small ones often, so that some are claimed and some are not
@given(st.lists(st.one_of(st.floats(0, 1), st.floats(0, 0.02)), min_size=1, max_size=40))
def test_what_is_claimed_is_what_scipy_adjusts_to_below_the_share(chances):
    adjusted = false_discovery_control(np.array(chances))
    # on the share itself rounding decides
    clear = np.abs(adjusted - FALSE_SHARE) > 1e-12
    claimed = beyond_chance(np.array(chances), FALSE_SHARE)
    assert np.array_equal(claimed[clear], (adjusted <= FALSE_SHARE)[clear])


def test_only_what_both_settings_hold_is_held_against_each_other():
    before = shots("before", grain=0.5, raggedness_x=8.0, offset_cyan_x=3.0)
    after = shots("after", seed=2, grain=0.5, offset_cyan_x=3.0)
    found = number_differences(rank({"before": before, "after": after}))
    assert [c.name for c in found] == ["offset_cyan_x"]


def test_nothing_looked_at_is_nothing_changed():
    ranking = rank({"a": shots("a", grain=0.5), "b": shots("b", seed=2, grain=0.5)})
    assert number_differences(ranking) == ()
    assert differences(ranking) is None
