"""A known spread of prints: what it finds, what it costs, and that it is off unless asked for."""

from datetime import date

import numpy as np
import pytest

from dotloupe.compare.cautions import KnownSpreadLeftOut, KnownSpreadTaken
from dotloupe.compare.history import History
from dotloupe.compare.known_spread import KnownSpread, agrees
from dotloupe.compare.pairs import compare_pairs
from dotloupe.compare.ranking import rank
from dotloupe.report.text import caution_text

from .invented import shot, shots
from .known_spread_benchmark import found
from .test_pairs import exactly as sample

NAMED = {"printer": "p", "paper": "q", "mode": "m"}


@pytest.mark.parametrize(
    ("errors", "ratio", "low", "high"), [(3, 1, 59, 70), (0, 1, 0, 7), (0, 2, 0, 8), (0, 0.5, 0, 6)]
)
def test_differences_found_and_claimed_wrongly(errors, ratio, low, high):
    """Bounds are those of the table of the benchmark, three errors of 600 tests wider."""
    share = found(errors, ratio, 12, trials=600)
    print(f"{errors} standard errors, spread {ratio} times the known one: {share:.1f} %")
    assert low <= share <= high


def test_agreement_is_an_f_test_of_either_side():
    samples = [sample("a", [1.0, 2.0, 3.0]), sample("b", [1.0, 2.0, 3.0])]
    assert agrees(KnownSpread(1.0, 12), samples)
    assert not agrees(KnownSpread(0.2, 12), samples)
    assert not agrees(KnownSpread(30.0, 12), samples)
    assert not agrees(KnownSpread(1.0, 12), [sample("a", [1.0]), sample("b", [2.0])])


def test_a_known_spread_is_pooled_in():
    samples = [sample("a", [4.1, 4.2, 4.3]), sample("b", [3.9, 4.0, 4.1])]
    alone, with_known = (compare_pairs(samples, known=k)[0] for k in (None, KnownSpread(0.01, 40)))
    assert with_known.high - with_known.low < alone.high - alone.low


def test_a_ranking_says_what_it_assumed(tmp_path):
    rng = np.random.default_rng(4)
    history = History(tmp_path / "h.sqlite")
    for month in range(1, 7):
        day = [
            shot(f"{month}-{i}", {"detail_x": 4 + 0.1 * rng.standard_normal()}) for i in range(3)
        ]
        history.add(day, printed_on=date(2026, month, 5), **NAMED)
    known = history.known_spreads(**NAMED)
    assert known["detail_x"].degrees == 12
    assert known["detail_x"].at(4.0).variance == pytest.approx(0.01, rel=0.8)
    settings = {
        "a": shots("a", seed=1, detail_x=4.0, spread=0.025),
        "b": shots("b", seed=2, detail_x=4.0, spread=0.025),
    }
    cautions = rank(settings, known_spreads=known).criteria["detail_x"].cautions
    (told,) = (c for c in cautions if isinstance(c, KnownSpreadTaken | KnownSpreadLeftOut))
    assert "history" in caution_text(told)
    assert f"{told.sd:.2g}" in caution_text(told)
    without = rank(settings)
    assert not any("history" in caution_text(c) for c in without.criteria["detail_x"].cautions)
    # nothing of the history enters without it
    assert rank(settings, known_spreads={}).criteria == without.criteria
