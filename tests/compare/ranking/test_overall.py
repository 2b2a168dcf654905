"""Overall values: weights, errors, and what not every print has."""

import numpy as np
import pytest

from dotloupe.compare.cautions import MixedSentPpi, UnknownSpread
from dotloupe.compare.ranking.overall import checked_weights
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number


def shot(name, detail, *, low=0.01, sent_ppi=None, fit=True, reasons=(), sha256=None):
    number = Number(detail, (1 - low) * detail, (1 + low) * detail, CRITERIA["detail_x"].unit)
    numbers = {"detail_x": number} if fit else {}
    sha256 = name if sha256 is None else sha256
    return Measurement(f"{name}.jpg", sha256, name, 1, sent_ppi, fit, reasons, (), numbers)


def test_single_prints_without_intervals_cannot_be_told_apart():
    alone = {s: [shot(s, v, low=np.nan)] for s, v in (("a", 4.0), ("b", 5.0))}
    ranking = rank(alone)
    assert UnknownSpread() in ranking.criteria["detail_x"].cautions


@pytest.mark.parametrize("wrong", [-1.0, np.nan, np.inf])
def test_weights_are_numbers_of_0_or_more(wrong):
    with pytest.raises(InputError, match="weights must be 0 or more"):
        checked_weights({"detail_x": 1.0, "grain": wrong})
    assert checked_weights({"detail_x": 1.0, "grain": 0.0}) == {"detail_x": 1.0}


def test_one_sent_ppi_is_no_caution_and_two_are():
    rng = np.random.default_rng(3)

    def prints(setting, ppis):
        return [
            shot(f"{setting}{i}", 4 + 0.1 * rng.standard_normal(), sent_ppi=ppi)
            for i, ppi in enumerate(ppis)
        ]

    even = rank({"a": prints("a", (600.0,) * 3), "b": prints("b", (720.0,) * 3)})
    assert not [c for c in even.cautions if isinstance(c, MixedSentPpi)]
    mixed = rank({"a": prints("c", (600.0, 720.0, 600.0)), "b": prints("d", (720.0,) * 3)})
    assert MixedSentPpi("a", (600, 720)) in mixed.cautions


def test_the_overall_error_of_a_print_is_that_of_a_weighted_sum():
    """Independent errors add by squares: hypot of each weight times its error in visible steps."""
    numbers = {
        "detail_x": Number(4.0, 3.9, 4.1, "cycles/mm"),
        "detail_y": Number(4.2, 3.8, 4.6, "cycles/mm"),
    }
    made = {
        name: [Measurement(f"{name}.jpg", name, name, 1, 600.0, True, (), (), numbers)]
        for name in ("a", "b")
    }
    found = rank(made, weights={"detail_x": 0.25, "detail_y": 0.75})
    steps = [
        (found.scales[name].at_viewing(n.high) - found.scales[name].at_viewing(n.low)) / 2
        for name, n in numbers.items()
    ]
    expected = np.hypot(0.25 * steps[0], 0.75 * steps[1]) / 1.959964
    (of_print,) = found.criteria["overall"].places[0].prints
    assert of_print.standard_error == pytest.approx(expected, rel=1e-6)
