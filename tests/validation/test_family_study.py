"""The study on the family of printers counts rightly, by rows that are invented."""

import sys
from pathlib import Path

import numpy as np
import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(HERE.parent))

import family_study  # noqa: E402
import family_table  # noqa: E402
from printers import HELD_OUT  # noqa: E402
from printers.fault_sizes import SIZES, half_noticed  # noqa: E402
from simulated_truth.edges import geometric_mean, mid_edges  # noqa: E402

from dotloupe import Patch  # noqa: E402


def print_row(seed, ppi, detail):
    return {
        "seed": str(seed),
        "printer": "p",
        "sent_ppi": str(ppi),
        "method": "area",
        "detail_x": str(detail),
    }


def verdict_row(**changes):
    row = {
        "session": "3",
        "family": "held-out",
        "printer": "p",
        "subject": "sent ppi",
        "prints": "1",
        "way": "known",
        "criterion": "detail_x",
        "claimed": "one",
        "declined": "",
    }
    for name, ppi, value in (("one", 600, 4.0), ("other", 300, 3.0)):
        ends = (value, value - 0.2, value + 0.2, value + 0.1, value - 0.3)
        row |= {f"{name}_sent_ppi": str(ppi), f"{name}_method": "area"}
        row |= {f"{name}{end}": str(v) for end, v in zip(family_study.ENDS, ends, strict=True)}
    return row | changes


PRINTS = [
    print_row(1030, 600, 99.0),
    *(print_row(seed, 600, detail) for seed, detail in ((1040, 2.0), (1050, 4.0), (900_000, 8.0))),
    *(print_row(seed, 300, 5.0) for seed in (1041, 1051, 900_000)),
]


def test_a_setting_is_true_by_prints_of_other_sessions():
    true = family_table.SettingTruths(PRINTS)
    assert true.of(verdict_row(), "one") == pytest.approx(4.0)
    assert true.of(verdict_row(), "other") == pytest.approx(5.0)
    assert true.better(verdict_row()) == "other"
    assert family_table.better_print(verdict_row()) == "one"


def test_too_few_prints_are_no_truth_of_a_setting():
    true = family_table.SettingTruths(PRINTS[:3])
    assert np.isnan(true.of(verdict_row(), "one"))
    assert true.better(verdict_row()) == ""


def test_the_table_counts_claims_and_intervals():
    rows = [verdict_row(), verdict_row(subject="nothing"), verdict_row(declined="blurred")]
    lines = family_table.family_table(rows, PRINTS).splitlines()
    claims = next(line for line in lines if line.startswith("| held-out"))
    assert claims == "| held-out | known | detail_x | 3 | 1 | 2 | 0 of 2 | 2 of 2 | 1 of 1 |"
    assert "| 4 | 100.0 % of 4 | 0.0 % of 4 | 50.0 % of 4 |" in lines[-1]


def test_a_session_is_the_same_whenever_it_is_drawn():
    drawn = [family_study.draw_session(n, HELD_OUT) for n in range(30)]
    assert drawn == [family_study.draw_session(n, HELD_OUT) for n in range(30)]
    assert {s.subject for s in drawn} == set(family_study.SUBJECTS)
    assert all((s.one == s.other) == (s.subject == "nothing") for s in drawn)
    assert {s.one.printer for s in drawn} == set(HELD_OUT)


def test_faults_are_drawn_for_every_photograph_within_their_sizes():
    drawn = [family_study.draw_session(n, HELD_OUT, faulty=True) for n in range(30)]
    assert all(len(s.faults) == 2 * s.prints for s in drawn)
    faults = [fault for s in drawn for fault in s.faults]
    assert {name for name, _ in faults} == set(SIZES)
    assert all(SIZES[name][0] <= size <= SIZES[name][2] for name, size in faults)
    assert not {s.first_seed for s in drawn} & {
        family_study.draw_session(n, HELD_OUT).first_seed for n in range(300)
    }


def test_wrong_claims_are_counted_by_whether_a_warning_stands_beside_them():
    rows = [
        verdict_row(warned="", untold=""),
        verdict_row(warned="", untold="focus", claimed="other"),
        verdict_row(warned="motion", untold="focus", claimed="other"),
        verdict_row(warned="motion", untold="", claimed=""),
    ]
    last = family_table.fault_table(rows, ()).splitlines()[-1]
    assert last == "| held-out | known | detail_x | 4 | 0 | 2 | 0 of 1 | 1 of 1 | 1 of 1 |"


def test_half_are_noticed_between_two_sizes():
    assert half_noticed([1.0, 4.0, 9.0], [0.0, 1.0, 1.0]) == pytest.approx(2.0)
    assert half_noticed([1.0, 4.0], [0.0, 0.4]) is None


def test_the_edges_of_a_print_are_four_a_direction_and_cross_their_windows():
    for axis in ("x", "y"):
        edges = list(mid_edges(Patch(sent_ppi=600), axis))
        assert len(edges) == 4
        for (left, top, right, bottom), ((x, y), (x_end, y_end)) in edges:
            assert (x + x_end) / 2 == pytest.approx((left + right) / 2)
            assert (y + y_end) / 2 == pytest.approx((top + bottom) / 2)


def test_edges_are_averaged_by_their_logarithms():
    assert geometric_mean([2.0, 8.0]) == pytest.approx(4.0)
