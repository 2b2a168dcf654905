"""Steps within the measurement of bars, each in closed form."""

import numpy as np
import pytest

from dotloupe.measure.bars.block import _half_way, _placed_block
from dotloupe.measure.bars.group import _whole_periods
from dotloupe.measure.bars.harmonics import Comb
from dotloupe.measure.bars.profile import dark_bars
from dotloupe.measure.grain.banding import _single_peak


def test_two_periods_are_the_fewest_that_are_cut_to_whole_ones():
    comb = Comb(1 / 20, 0.0, 10.0, 0.0)
    # spaces at 0, 20, 40, 60, 80: from the first to the last of them
    assert _whole_periods(comb, 0.0, 90) == slice(0, 80)
    assert _whole_periods(comb, 0.0, 35) == slice(0, 35)


def test_no_bar_is_found_where_none_is_looked_for():
    position = np.arange(50.0)
    profile = 0.5 + 0.4 * np.cos(2 * np.pi * position / 10)
    assert len(dark_bars(position, profile, 10.0, (60.0, 80.0), 0.8)) == 0


def test_half_the_way_lies_between_the_first_value_and_the_last():
    position = np.arange(10.0, 15.0)
    # half of 0 to 8 is reached 3/7 of the way from 1 to 8
    assert _half_way(position, np.array([0.0, 1, 8, 8, 8])) == pytest.approx(11 + 3 / 7)
    assert _half_way(position, np.array([2.0, 4, 6, 8, 10])) == pytest.approx(12)
    assert _half_way(position, np.array([3.0, 3, 3, 3, 3])) == 10


@pytest.mark.parametrize(
    ("away", "alone"),
    [((2, 0), True), ((-2, 0), True), ((0, 2), True), ((3, 0), False), ((-3, 0), False),
     ((0, 3), False), ((0, -3), False)],
)  # fmt: skip
def test_a_peak_alone_holds_all_power_within_two_values(away, alone):
    power = np.zeros((40, 30))
    power[20, 10] = 1.0
    power[20 + away[0], 10 + away[1]] = 0.5
    assert _single_peak(power, np.ones(power.shape, bool)) is alone


@pytest.mark.parametrize(("width", "found"), [(57, False), (59, True), (90, True)])
def test_a_group_of_known_size_needs_a_fifth_of_a_period_beside_it(width, found):
    """Three bars of 10 pixels, 20 apart, are 50 wide: with 0.2 periods on both sides 58."""
    first = (width - 50) // 2
    darkness = np.zeros(width)
    for bar in range(3):
        darkness[first + 20 * bar : first + 20 * bar + 10] = 1.0
    borders = (first - 0.5, first + 49.5)
    assert _placed_block(darkness, 20.0, 3) == (pytest.approx(borders) if found else None)
