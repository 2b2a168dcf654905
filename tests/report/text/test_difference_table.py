"""What else differs is said only where prints tell."""

import numpy as np
import pytest

from dotloupe.compare.ranking.ranking import rank
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.report.text.difference_table import differences


def with_offsets(shots, offset, seed):
    """Measurements with a further number: the offset of an ink, with a spread of 1 um."""
    rng = np.random.default_rng(seed)
    for m in shots:
        value = offset + rng.standard_normal()
        m.numbers["offset_cyan_x"] = Number(
            value, value - 1, value + 1, "um", Measurand(Quantity.OFFSET, "x", ink="cyan")
        )
        m.numbers["raggedness_x"] = Number(
            8 + 0.1 * value, 7, 9, "um", Measurand(Quantity.RAGGEDNESS, "x")
        )
    return shots


def test_an_ink_out_of_place_is_named(make_photographs):
    before = with_offsets(make_photographs("before", 1, count=4), 25.0, 1)
    after = with_offsets(make_photographs("after", 2, count=4), 0.0, 2)
    found = differences(rank({"before": before, "after": after}))
    row = next(r for r in found.rows if r.name == "cyan along x")
    assert row.verdict == "differs"
    assert float(row.values[0]) == pytest.approx(25, abs=2)
    assert float(row.values[1]) == pytest.approx(0, abs=2)
    assert "placement of the inks" in found.sentence


def test_alike_settings_are_not_said_to_differ(make_photographs):
    one = with_offsets(make_photographs("one", 1, count=4), 0.0, 3)
    other = with_offsets(make_photographs("other", 2, count=4), 0.0, 4)
    found = differences(rank({"one": one, "other": other}))
    assert not any(r.verdict == "differs" for r in found.rows)
    assert found.sentence.startswith("None of ")


def test_only_two_settings_are_compared(make_photographs):
    three = rank({s: make_photographs(s, i) for i, s in enumerate("abc")})
    assert differences(three) is None
