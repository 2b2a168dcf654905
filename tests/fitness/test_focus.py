"""Focus and motion by the blur of elements, given as numbers."""

import numpy as np
import pytest
from scipy.special import j1

from dotloupe.fitness.finding import Fault, Severity
from dotloupe.fitness.focus import (
    FINEST_GRAIN_PER_MM,
    SOFT_PRINT,
    focus_findings,
    focus_map,
    most_grain_lost,
    place_name,
)
from dotloupe.fitness.motion import motion_findings
from dotloupe.fitness.sheet_position import SheetPosition
from dotloupe.fitness.steepest_edges import SteepestEdges

SIZE_MM = (30.0, 20.0)
EDGE_UM2 = 1600.0
MARKS_MM = [(2.0, 2.0), (28.0, 2.0), (28.0, 18.0), (2.0, 18.0)]
LEVEL = SheetPosition(np.zeros(2), 0.0)


def even(_x, _y):
    return 0.0


def elements(blur_um2, added_um2=even, by_direction=(0.0, 0.0, 0.0, 0.0), scatter=10.0, seed=1):
    """Marks, code, bars and slanted edges that all blur alike, but for what is added."""
    rng = np.random.default_rng(seed)
    rows = [(f"mark {i}", "mark", place) for i, place in enumerate(MARKS_MM)]
    rows += [("code", "code", (24.0, 16.0))]
    rows += [(f"bars {i}", "bars x", (4.0 + 1.5 * i, 14.0)) for i in range(6)]
    rows += [(f"edge {i}", "edge mid", (2.0 + i, 10.0)) for i in range(8)]
    rows += [(f"dark {i}", "edge dark", (14.0 + i, 10.0)) for i in range(4)]
    names, kinds, places = zip(*rows, strict=True)
    variance = [
        blur_um2 + added_um2(x, y) + np.array(by_direction) + rng.normal(0, scatter, 4)
        for x, y in places
    ]
    return SteepestEdges(names, kinds, np.array(places), np.array(variance))


def found(edges):
    return {f.fault: f.severity for f in focus_findings(edges, LEVEL, SIZE_MM, EDGE_UM2)}


def test_names_of_places():
    names = [place_name(np.array(p), SIZE_MM) for p in ((1, 1), (29, 19), (15, 1), (1, 10))]
    assert names == ["upper left corner", "lower right corner", "upper edge", "left side"]


@pytest.mark.parametrize(
    ("blur_um2", "severity"),
    [(200.0, Severity.FINE), (600.0, Severity.CANNOT_TELL), (60.0**2, Severity.NOT_FIT)],
)
def test_a_camera_costs_no_more_than_the_steepest_edges_show(blur_um2, severity):
    """200 of 1600 um^2 cost 6 % of MTF50, 600 cost 21 % (closed form); 60 um no printer makes."""
    assert found(elements(blur_um2))[Fault.DEFOCUS] is severity
    assert found(elements(blur_um2))[Fault.UNEVEN_FOCUS] is Severity.FINE


def test_grain_is_bounded_beside_edges():
    """Dooley and Shaw (memory): 5.05 exp(-0.138 f) (1 - exp(-0.1 f)), f in cycles/degree."""
    degree = FINEST_GRAIN_PER_MM * 350 * np.pi / 180
    assert 5.05 * np.exp(-0.138 * degree) * (1 - np.exp(-0.1 * degree)) == pytest.approx(
        0.08, abs=0.01
    )
    # a disc of 60 um, variance 225 um^2, by its own transfer 2 J1(x) / x
    x = np.pi * 0.06 * FINEST_GRAIN_PER_MM
    assert most_grain_lost(60**2 / 16) == pytest.approx(100 * (1 - 2 * j1(x) / x), rel=0.05)


def test_one_steep_element_is_not_believed():
    edges = elements(600.0)
    edges.variance_um2[3] = 50.0
    assert found(edges)[Fault.DEFOCUS] is Severity.CANNOT_TELL


def corner(x, y):
    return 1500.0 * max(1 - np.hypot(x - 28, y - 18) / 12, 0)


def test_a_soft_corner_is_blamed_where_the_elements_agree():
    assert found(elements(200.0, corner))[Fault.UNEVEN_FOCUS] is Severity.WARNING


def test_elements_that_scatter_blame_nobody():
    """By a third of the edges' own blur, as a coarse halftone makes them."""
    blamed = 0
    for seed in range(200):
        severity = found(elements(900.0, scatter=500.0, seed=seed))[Fault.UNEVEN_FOCUS]
        blamed += severity in (Severity.WARNING, Severity.NOT_FIT)
    assert blamed <= 5


def test_a_map_shows_the_soft_corner():
    focus = focus_map(elements(200.0, corner), EDGE_UM2)
    assert focus.names[int(np.argmax(focus.softer))] == "mark 2"
    assert np.median(focus.softer) < 0.02


@pytest.mark.parametrize(
    ("by_direction", "severity", "way"),
    [
        ((200.0, 400.0, 200.0, 0.0), Severity.WARNING, "down to the right"),
        ((200.0, 0.0, 200.0, 400.0), Severity.WARNING, "up to the right"),
        ((400.0, 200.0, 0.0, 200.0), Severity.CANNOT_TELL, "across the frame"),
        ((0.0, 200.0, 400.0, 200.0), Severity.CANNOT_TELL, "up and down the frame"),
        ((50.0, 0.0, 0.0, 50.0), Severity.FINE, None),
    ],
)
def test_motion_is_blamed_along_a_diagonal_alone(by_direction, severity, way):
    """A printer may be softer along one of its axes, never along one diagonal alone."""
    (finding,) = motion_findings(elements(400.0, by_direction=by_direction), EDGE_UM2)
    assert finding.severity is severity
    if way is not None:
        assert finding.evidence.direction == way
        # a path of length T peaks at 1/T, as a variance of T^2 / pi^2 of a disc does
        assert finding.evidence.travel_um == pytest.approx(np.pi * 20, rel=0.1)


def test_no_limit_of_a_soft_print_is_finer_than_a_coarse_raster():
    """Straight-line interpolation between pixels p apart: a triangle of variance p^2 / 6."""
    assert SOFT_PRINT.not_fit == pytest.approx(25400 / 200 / np.sqrt(6), rel=0.01)
