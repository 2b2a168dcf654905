"""Photographs of one file judged together, by the blur of their elements as numbers."""

from dataclasses import replace

import numpy as np

from dotloupe.fitness.examination import Fitness, Sharpness
from dotloupe.fitness.finding import Fault, Finding, Severity
from dotloupe.fitness.focus import POSSIBLE_LOSS
from dotloupe.fitness.together import judge_together

from .test_focus import EDGE_UM2, SIZE_MM, corner, elements, even

UNTOLD = Finding(Fault.DEFOCUS, 25.0, POSSIBLE_LOSS, blamed=False)
OWN = np.random.default_rng(9).normal(0, 250, (23, 1))
"""What the print makes of each element: the same in every photograph of its file."""


def photograph(blur_um2=700.0, added=even, seed=1, **changes):
    edges = elements(blur_um2, added, seed=seed, scatter=30.0)
    edges = replace(edges, variance_um2=np.maximum(edges.variance_um2 + OWN[: len(edges.names)], 1))
    sharpness = Sharpness(edges, EDGE_UM2, 100.0, 3, 600, SIZE_MM)
    return Fitness((UNTOLD,), None, replace(sharpness, **changes))


def judged(*photographs):
    names = [f"{i}.tif" for i in range(len(photographs))]
    return [
        {f.fault: f.severity for f in one.findings} for one in judge_together(photographs, names)
    ]


def test_one_much_softer_than_its_siblings_is_out_of_focus():
    found = judged(photograph(), photograph(seed=2), photograph(1200.0, seed=3))
    assert found[2] == {Fault.DEFOCUS: Severity.WARNING}
    assert found[0] == found[1] == {Fault.DEFOCUS: Severity.CANNOT_TELL}


def test_a_corner_that_is_soft_in_one_photograph_alone_is_blamed():
    found = judged(photograph(), photograph(seed=2), photograph(700.0, corner, seed=3))
    assert found[2][Fault.UNEVEN_FOCUS] is Severity.WARNING
    assert Fault.UNEVEN_FOCUS not in found[0] | found[1]


def test_what_repeats_with_the_print_is_not():
    """Every photograph shows the same corner soft: the print's own, or the lens's."""
    found = judged(*(photograph(700.0, corner, seed=seed) for seed in range(4)))
    assert all(one == {Fault.DEFOCUS: Severity.CANNOT_TELL} for one in found)


def test_only_photographs_of_one_file_and_sampling_are_compared():
    for changes in ({"run": 4}, {"sent_ppi": 300}, {"pixels_per_mm": 130.0}, {"run": None}):
        found = judged(photograph(), photograph(1200.0, seed=2, **changes))
        assert found == [{Fault.DEFOCUS: Severity.CANNOT_TELL}] * 2


def test_a_photograph_alone_or_without_a_patch_stays_as_it_is():
    alone = photograph()
    assert judge_together([alone, None], ["a", "b"]) == [alone, None]
