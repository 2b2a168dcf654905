"""Which photographs count in a ranking: none twice, and seen from somewhere."""

from dataclasses import replace

import pytest
from compare.invented import shots

from dotloupe.compare.cautions import DuplicateCapture
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError


def test_a_photograph_given_twice_counts_once():
    twice = shots("a", grain=0.5)
    ranking = rank({"a": [*twice, twice[0]], "b": shots("b", grain=0.7)})
    assert ranking.criteria["grain"].places[0].n == 4
    assert DuplicateCapture("a0.tif", "a0.tif") in ranking.cautions


def test_one_photograph_under_two_names_is_not_two_settings():
    """It is told by its content, wherever it lies."""
    again = replace(shots("a", grain=0.5)[0], path="copy of a0.tif")
    with pytest.raises(InputError) as caught:
        rank({"a": shots("a", grain=0.5), "b": [*shots("b", grain=0.7), again]})
    assert str(caught.value) == (
        "copy of a0.tif: the same photograph as a0.tif, given as setting a and as setting b: "
        "keep it in one of them"
    )


def test_prints_are_looked_at_from_somewhere():
    with pytest.raises(InputError) as caught:
        rank({"a": shots("a", grain=1.0), "b": shots("b", grain=1.0)}, viewing_distance_mm=0.0)
    assert str(caught.value) == "viewing distance 0.0 mm: give one above 0"
