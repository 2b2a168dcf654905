"""What else changed between two settings, on invented numbers."""

import numpy as np
import pytest

from dotloupe.compare.changes import changes, changes_sentence, closing_sentence
from dotloupe.compare.rank import rank
from dotloupe.errors import InputError
from dotloupe.measurement import CRITERIA, Measurement, Number

NAMES = {
    **{f"visual_graininess_grey{n}": ("L* rms", 0.5, 0.02) for n in (10, 25, 40, 60, 80)},
    **{f"offset_{ink}_{axis}": ("um", 0.0, 1.0) for ink in ("cyan", "magenta") for axis in "xy"},
    "raggedness_x": ("um", 8.0, 0.5),
}


def measurement(setting, number, seed, moved):
    chance = np.random.default_rng(seed)
    numbers = {c: Number(5.0 + 0.01 * number, 4.9, 5.1, CRITERIA[c].unit) for c in CRITERIA}
    for name, (unit, level, spread) in NAMES.items():
        value = level + moved.get(name, 0.0) + spread * chance.standard_normal()
        numbers[name] = Number(value, value - 2 * spread, value + 2 * spread, unit)
    path = f"{setting}/print{number}.jpg"
    return Measurement(path, f"{setting}{number}", path, 1, 600, True, (), (), numbers)


def ranking(seed, moved):
    before = [measurement("before", i, seed + i, moved) for i in range(4)]
    after = [measurement("after", i, seed + 50 + i, {}) for i in range(4)]
    return rank({"before": before, "after": after})


def test_a_plane_that_moved_is_named_and_the_rest_is_not():
    before_and_after = ranking(100, {"offset_cyan_x": 20.0})
    found = changes(before_and_after)
    assert [c.name for c in found if c.changed] == ["offset_cyan_x"]
    moved = next(c for c in found if c.changed)
    assert moved.before == pytest.approx(20, abs=2)
    assert moved.after == pytest.approx(0, abs=2)
    text = changes_sentence(found)
    assert "Placement of the inks changed by more than repeats vary: cyan along x from" in text
    assert "Grain by tint: no change beyond what repeats vary by." in text
    closing = closing_sentence(found, before_and_after)
    assert closing.startswith("In all, placement of the inks changed by more than repeats vary; ")
    # detail and visible grain of both settings are drawn alike
    assert "from 35 cm even a keen eye does not see the difference" in closing


def test_nothing_is_named_where_nothing_changed():
    """At most 5 % of 100 comparisons may name anything; 11 is three standard deviations above."""
    named = sum(any(c.changed for c in changes(ranking(1000 * i, {}))) for i in range(100))
    assert named <= 11


def test_three_settings_are_refused():
    three = {s: [measurement(s, i, i, {}) for i in range(2)] for s in ("a", "b", "c")}
    with pytest.raises(InputError, match="two settings"):
        changes(rank(three))
