"""A ranking rests on the prints alone: not on their order, nor on who measured them."""

import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.processes.worker_processes import in_processes


def print_of(setting, number, value):
    numbers = {
        name: Number(value * scale, value * scale * 0.97, value * scale * 1.03, "")
        for name, scale in (("detail_x", 4.0), ("detail_y", 3.5), ("line_pairs_x", 10.0))
    }
    numbers["grain"] = Number(0.5 / value, 0.48 / value, 0.52 / value, "L* rms")
    name = f"{setting}{number}"
    return Measurement(f"{name}.jpg", name, name, 1, 600.0, True, (), (), numbers)


tests_of_prints = st.dictionaries(
    st.sampled_from("abcde"),
    st.lists(st.floats(0.7, 1.4), min_size=2, max_size=4, unique=True),
    min_size=2,
    max_size=4,
)


def prints(values):
    return {s: [print_of(s, n, v) for n, v in enumerate(vs)] for s, vs in values.items()}


def verdict(settings_given):
    """Places, ties, values and intervals by criterion and setting."""
    result = rank(settings_given).to_dict()
    return {
        (name, p["setting"]): (
            p["place"],
            sorted(p["tied_with"]),
            *(None if p[k] is None else round(p[k], 9) for k in ("value", "low", "high")),
        )
        for name, criterion in result["criteria"].items()
        for p in criterion["places"]
    }


@settings(max_examples=10)
@given(tests_of_prints, st.randoms(use_true_random=False))
def test_order_of_settings_and_prints_changes_nothing(values, chance):
    given_first = prints(values)
    names = list(given_first)
    chance.shuffle(names)
    shuffled = {name: chance.sample(given_first[name], len(given_first[name])) for name in names}
    assert verdict(shuffled) == verdict(given_first)


@settings(max_examples=10)
@given(tests_of_prints, st.floats(0.25, 4.0))
def test_places_do_not_depend_on_the_unit(values, unit):
    plain, scaled = prints(values), prints({s: [unit * v for v in vs] for s, vs in values.items()})
    for name in ("detail_x", "line_pairs_x"):
        places = [
            {key[1]: told[:2] for key, told in verdict(given).items() if key[0] == name}
            for given in (plain, scaled)
        ]
        assert places[0] == places[1]


@settings(max_examples=10)
@given(tests_of_prints)
def test_who_holds_more_detail_has_the_better_place(values):
    told = verdict(prints(values))
    means = {s: np.exp(np.mean(np.log(v))) for s, v in values.items()}
    for better in means:
        for worse in means:
            ours, theirs = told["detail_x", better], told["detail_x", worse]
            if ours[0] < theirs[0]:
                assert ours[2] > theirs[2]


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_workers_change_neither_order_nor_result(workers, monkeypatch):
    """Later captures are done first; each finds its own place."""
    monkeypatch.setattr(os, "cpu_count", lambda: workers)
    paths = [Path(f"{n}.jpg") for n in range(6)]

    def measure(path):
        import time

        time.sleep(0.05 * (6 - int(path.stem)) / 6)
        return str(path)

    assert list(in_processes(measure, paths, str)) == [str(p) for p in paths]
