"""Numbers whose upper end is open are lower bounds: they rank where they say something."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from dotloupe.compare.pairs import compare_pairs
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.compare.ranking.criterion_ranking import rank_criterion
from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import PictureMeasurement
from dotloupe.number import PICTURE_CRITERIA, Number
from dotloupe.report.model import ranking_model
from dotloupe.report.plots.csv_rows import criterion_rows
from dotloupe.report.text.rounding import interval_text, value_text
from dotloupe.report.text.verdict import ranking_verdict

from .invented import shot

ERROR = 0.01
OPEN = math.inf
CRITERION = PICTURE_CRITERIA["response_x"]


def known(setting, *values):
    return Sample(setting, tuple(PrintValue(str(i), v, ERROR, 1) for i, v in enumerate(values)))


def bound(setting, *least):
    prints = (PrintValue(str(i), v, math.nan, 1, least=v) for i, v in enumerate(least))
    return Sample(setting, tuple(prints))


def places(*samples):
    ranking = rank_criterion(CRITERION, samples, [s.setting for s in samples])
    return {p.setting: p for p in ranking.places}, ranking


def test_a_number_open_above_is_a_lower_bound():
    assert Number(0.2528, 0.2528, OPEN, "cycles/mm").at_least
    assert not Number(0.2528, 0.24, 0.27, "cycles/mm").at_least


@pytest.mark.parametrize(("gap", "better"), [(0.9, False), (1.1, True)])
def test_a_bound_above_the_other_interval_is_better(gap, better):
    """Of two single prints the interval alone counts: 1.96 standard errors."""
    reach = ERROR * ndtri(0.975)
    (pair,) = compare_pairs([bound("fine", 0.25 + gap * reach), known("fast", 0.25)])
    assert (pair.setting, pair.distinguishable) == ("fine", better)
    assert pair.at_least
    assert (pair.low, pair.high) == (None, None)
    found, _ = places(bound("fine", 0.25 + gap * reach), known("fast", 0.25))
    assert [found[s].place for s in ("fine", "fast")] == [1, 2 if better else 1]


def test_a_bound_below_leaves_the_order_open():
    (pair,) = compare_pairs([known("fast", 0.5), bound("fine", 0.25)])
    assert not pair.distinguishable
    assert pair.p_value == 1.0
    found, ranking = places(known("fast", 0.5), bound("fine", 0.25))
    assert {p.place for p in found.values()} == {1}
    assert len(ranking.groups) == 1


def test_two_bounds_leave_the_order_open():
    (pair,) = compare_pairs([bound("fine", 9.0, 9.0, 9.0), bound("fast", 0.25, 0.25, 0.25)])
    assert not pair.distinguishable


def test_a_mean_of_bounds_and_values_is_a_bound():
    prints = (PrintValue("1", 0.24, ERROR, 1), PrintValue("2", 0.30, math.nan, 1, least=0.28))
    mixed = Sample("fine", prints)
    assert mixed.at_least
    assert mixed.least == pytest.approx(0.26)
    place = places(mixed, known("fast", 0.1, 0.1))[0]["fine"]
    assert place.at_least
    assert (place.value, place.low, place.high) == (pytest.approx(0.26),) * 2 + (OPEN,)


def test_bounds_that_end_at_one_frequency_are_no_witnesses_of_the_spread():
    """Prints that all end at what was sent would make the pooled spread too small."""
    rng = np.random.default_rng(0)
    spread = rng.normal(1.0, 0.2, 3)
    alone = compare_pairs([known("fast", *spread), known("slow", *(spread - 0.3))])[0]
    others = compare_pairs(
        [known("fast", *spread), known("slow", *(spread - 0.3)), bound("fine", *[2.0] * 3)]
    )[0]
    assert others.high - others.low > alone.high - alone.low


def test_told_as_at_least():
    assert value_text(0.2528, 0.2528, OPEN) == "at least 0.253"
    assert value_text(0.2528, 0.2528, OPEN, 2) == "at least 0.25"
    assert interval_text(0.2528, 0.2528, OPEN, 2) == "0.25 to ∞"


def of_pictures(unit=None):
    """Settings of which one keeps 2.2 times the detail of one's own picture."""

    def prints(name, kept):
        return [
            shot(
                f"{name}{i}",
                {"picture_kept_x": kept * (1 + 0.01 * i)},
                unit=unit,
                kind=PictureMeasurement,
            )
            for i in range(4)
        ]

    return rank({"fast": prints("fast", 4.0), "fine": prints("fine", 8.8)})


def test_settings_that_share_lines_of_the_table_are_not_told_to_share_none():
    """In cycles a picture pixel, as where the size of the print is not known."""
    ranking = of_pictures("cycles/picture pixel")
    assert not ranking.criteria["overall"].places
    first = ranking_verdict(ranking_model(ranking)).sentences[0]
    assert "share no criterion" not in first


def test_the_lead_of_a_bound_is_told_as_at_least():
    def prints(name, value, high):
        return [
            replace(
                shot(f"{name}{i}", {"response_x": value}, kind=PictureMeasurement),
                numbers={"response_x": Number(value, 0.99 * value, high, "cycles/mm")},
            )
            for i in range(2)
        ]

    ranking = rank({"fine": prints("fine", 8.0, OPEN), "fast": prints("fast", 4.0, 4.05)})
    first = ranking.criteria["response_x"].places[0]
    assert (first.setting, first.place, first.at_least) == ("fine", 1, True)
    assert "at least" in " ".join(ranking_verdict(ranking_model(ranking)).sentences)
    place = ranking.to_dict()["criteria"]["response_x"]["places"][0]
    assert (place["at_least"], place["high"]) == (True, None)
    rows = list(criterion_rows(ranking.criteria["response_x"]))
    assert [(row["at_least"], row["high"] == "") for row in rows] == [(True, True), (False, False)]
