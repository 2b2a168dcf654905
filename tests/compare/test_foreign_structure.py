"""Structure that is not in the picture: named where it exceeds what another setting's grain is."""

import numpy as np
import pytest
from compare.invented import shots

from dotloupe.compare.foreign_structure import added_structure
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.ranking import rank
from dotloupe.report.model import ladder_model, ranking_model
from dotloupe.report.text.verdict import ladder_verdict, ranking_verdict


def prints(name, seed, x, y):
    return shots(name, seed, 3, unrelated_x=x, unrelated_y=y, detail_x=4.0)


@pytest.fixture
def three():
    """Grain alone, grain a fifth coarser, and as much again in power laid over it, along x."""
    return {
        "plain": prints("plain", 1, 0.7, 0.8),
        "grainy": prints("grainy", 2, 0.84, 0.96),
        "invented": prints("invented", 3, 0.7 * np.sqrt(3), 0.84),
    }


def test_only_what_exceeds_the_grain_is_named(three):
    (found,) = added_structure(three)
    assert (found.setting, found.reference, found.axis) == ("invented", "plain", "x")
    assert found.ratio == pytest.approx(np.sqrt(3), rel=0.02)
    assert found.value == pytest.approx(0.7 * np.sqrt(3), rel=0.02)


def test_prints_that_scatter_as_much_name_nobody():
    scattered = {
        name: shots(name, 7 + i, 3, 0.5, unrelated_x=value, unrelated_y=0.8)
        for i, (name, value) in enumerate({"plain": 0.7, "invented": 1.2}.items())
    }
    assert not added_structure(scattered)


def test_settings_without_a_picture_have_none():
    assert not added_structure({s: shots(s, i, grain=0.5) for i, s in enumerate("ab")})


def test_the_answer_names_it_once_with_its_amount(three):
    """1.2 % of the paper's reflectance, 1.7 times that of the setting that shows least."""
    ranked = ranking_verdict(ranking_model(rank(three))).sentences
    by_ppi = dict(zip((300, 360, 600), three.values(), strict=True))
    climbed = ladder_verdict(ladder_model(ladder(by_ppi))).sentences
    for said, name, least in (
        (ranked, "“invented”", "“plain”"),
        (climbed, "“600 ppi”", "“300 ppi”"),
    ):
        (named,) = (s for s in said if "1.7 times" in s)
        assert named.startswith(name)
        assert least in named
        assert "1.2 %" in named
    assert not [s for s in ranked if "grainy” shows" in s]
    without = {name: group for name, group in three.items() if name != "invented"}
    assert not [s for s in ranking_verdict(ranking_model(rank(without))).sentences if "times" in s]
