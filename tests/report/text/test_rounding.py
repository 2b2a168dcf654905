"""Digits follow the interval: the rule of the Particle Data Group."""

import pytest

from dotloupe.report.text.rounding import (
    column_decimals,
    interval_text,
    number_text,
    percent_ends,
    percent_text,
    value_text,
)


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [
        # the rule's own examples (Review of Particle Physics, introduction; from memory)
        (0.827, 0.119, "0.83"),
        (0.827, 0.367, "0.8"),
        # two digits of the error from 100 to 354, one from 355 on
        (5.6234, 0.0354, "5.623"),
        (5.6234, 0.0356, "5.62"),
        (5.6234, 0.0951, "5.62"),
        (612.3, 47.0, "610"),
        (612.3, 14.0, "612"),
        (1234.5, 20.0, "1\u202f234"),
    ],
)
def test_value_keeps_the_digits_that_its_error_supports(value, error, text):
    assert value_text(value, value - error, value + error) == text


def test_interval_is_rounded_like_its_value():
    assert interval_text(4.8123, 4.3, 5.32) == "4.3 to 5.3"


def test_no_interval_leaves_three_digits():
    assert value_text(63.4567, float("nan"), float("nan")) == "63.5"
    assert interval_text(63.4567, float("nan"), float("nan")) == "not known"


def test_open_ends_and_missing_numbers_are_said():
    assert interval_text(20.0, 18.0, float("inf")) == "18.0 to ∞"
    assert number_text(None, 2) == "–"


def test_zero_has_no_sign():
    assert number_text(-0.0004, 2) == "0.00"
    assert percent_text(-12.34, -14.0, -10.0) == "12.3 %"


def test_a_column_has_one_precision():
    column = [(4.123, 4.103, 4.143), (5.25, 4.75, 5.75), (6.0, float("nan"), float("nan"))]
    places = column_decimals(column)
    assert places == 3
    assert [value_text(*n, places) for n in column] == ["4.123", "5.250", "6.000"]
    assert interval_text(*column[1], places) == "4.750 to 5.750"
    # three digits of the value, where nothing says how far it is known
    assert column_decimals([column[2]]) == 2
    assert column_decimals([]) == 0


def test_a_loss_ends_at_all_of_it():
    assert percent_ends(-97.0, -106.0, -87.0) == "87 to 100 %"
    assert percent_ends(97.0, 87.0, 106.0) == "87 to 106 %"
