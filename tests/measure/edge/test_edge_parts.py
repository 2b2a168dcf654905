"""Steps within the measurement of an edge, each in closed form."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.polynomial import legendre
from scipy.interpolate import BSpline
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.edge.cells import Cells, gap_between_samples, tone_weights
from dotloupe.measure.edge.combined import combine_edges
from dotloupe.measure.edge.edge_jackknife import ratio_interval
from dotloupe.measure.edge.joint_fit import fit_edge
from dotloupe.measure.edge.knots import halved_where_needed
from dotloupe.measure.edge.least_squares import block_system, cell_splines
from dotloupe.measure.edge.mtf import line_spread_transform
from dotloupe.measure.edge.position import EdgeCurve, edge_samples, first_curve
from dotloupe.measure.edge.shape import row_offsets
from dotloupe.measure.edge.slanted import slanted_edge
from dotloupe.measure.edge.spread_function import EdgeSpread, extended_knots, spread_basis


def edge(sigma=2.0, seed=1):
    y, x = np.mgrid[:100, :100] - 49.5
    noise = 0.006 * np.random.default_rng(seed).standard_normal(x.shape)
    return 0.2 + 0.6 * ndtr((x - 0.0875 * y) / sigma) + noise


def test_edges_with_the_camera_in_and_out_are_not_mixed():
    response = slanted_edge(edge(), 100.0)
    with pytest.raises(RegionError) as caught:
        combine_edges([response, replace(response, camera_included=False)])
    assert str(caught.value) == ("some edges include the camera and some do not; measure all alike")
    # a number that one of them lacks has the range of all and no value
    open_ended = replace(response, mtf10=np.nan, mtf10_interval=(30.0, np.inf))
    both = combine_edges([response, open_ended])
    assert np.isnan(both.mtf10)
    assert both.mtf10_interval == (response.mtf10_interval[0], np.inf)


def test_the_bow_of_an_edge_is_what_departs_from_a_line():
    """Legendre's second polynomial goes from -1/2 to 1."""
    curve = EdgeCurve(np.array([50.0, 4.0, 2.0]), 101)
    assert curve.bow_px == pytest.approx(2.0 * 1.5, rel=1e-3)


def test_a_ratio_without_a_number_has_no_interval():
    assert np.isnan(ratio_interval(np.nan, np.ones(8))).all()
    assert np.isnan(ratio_interval(1.0, np.zeros(8))).all()
    assert ratio_interval(2.0, np.full(8, 2.0)) == (2.0, 2.0)


def test_evenly_spaced_splines_have_the_transform_of_a_box_to_the_fourth():
    """A cubic B-spline on even knots h apart is a box of h convolved with itself: sinc^4(h f)."""
    spacing, frequency = 1.5, np.linspace(0, 1.2, 13)
    transform = line_spread_transform(spacing * np.arange(21), frequency)
    inner = np.abs(transform[:, 6:-6])
    expected = np.repeat(np.sinc(spacing * frequency)[:, None] ** 4, inner.shape[1], axis=1)
    # Gauss's rule of eight nodes over at most one cycle at a time
    assert inner == pytest.approx(expected, abs=1e-9)


def test_a_bend_of_the_highest_order_is_seen():
    """An edge that follows a line and 0.8 pixels of Legendre's fifth polynomial."""
    y, x = np.mgrid[:200, :100].astype(float)
    along = (y[:, 0] - 99.5) / 100
    place = 49.5 + 8.0 * along + 0.8 * legendre.legval(along, [0, 0, 0, 0, 0, 1])
    rng = np.random.default_rng(2)
    region = 0.2 + 0.6 * ndtr((x - place[:, None]) / 2.0) + 0.004 * rng.standard_normal(x.shape)
    curve = fit_edge(region, first_curve(region)).curve
    assert curve.coefficients.size == 6
    # noise of 0.7 % of the step over the slope of 0.2 a pixel, in 200 rows of 5: 0.003
    assert curve.coefficients[5] == pytest.approx(0.8, abs=0.02)
    assert curve.coefficients[2:5] == pytest.approx(np.zeros(3), abs=0.02)


def test_a_spline_of_an_edge_is_that_of_the_reference_library():
    """Knots go on beyond both ends by the last steps; scipy's B-splines on them are the check."""
    breaks = np.array([-4.0, -3, -1.5, -1, 0, 0.5, 1, 2.5, 5])
    knots = extended_knots(breaks)
    assert knots[:5].tolist() == [-8, -7, -6, -5, -4]
    assert knots[-5:].tolist() == [5, 7.5, 10, 12.5, 15]
    levels = np.array([0.2, 0.25, 0.4, 0.6, 0.75, 0.8])
    spread, at = EdgeSpread(breaks, levels), np.linspace(-4, 5, 91)
    spline = BSpline(knots, np.concatenate([[0.2] * 3, levels, [0.8] * 3]), 4)
    assert spread.value(at) == pytest.approx(spline(at), abs=1e-12)
    assert spread.slope(at) == pytest.approx(spline.derivative()(at), abs=1e-12)
    assert spread.slope(np.array([-4.1, 5.1])).tolist() == [0, 0]
    assert spread_basis(breaks, at) @ levels == pytest.approx(spline(at), abs=1e-12)


@pytest.mark.parametrize("halved", [False, True])
def test_the_system_of_an_edge_is_that_of_all_its_splines_at_all_its_cells(halved):
    """Sums of weight times spline times spline, from the whole table of splines at cells."""
    rng = np.random.default_rng(3)
    breaks = np.array([-6.0, -3, -1.5, -1, 0, 0.5, 1, 2.5, 5])
    bands = (breaks[:-1, None] + np.diff(breaks)[:, None] * (np.arange(4) + 0.5) / 4).ravel()
    distance = bands + 0.05 * rng.uniform(-1, 1, (3, 32))
    weight, value = rng.uniform(0, 5, (3, 32)), rng.uniform(0, 1, (3, 32))
    cells = Cells(weight, distance, value, value, value)
    if halved:
        breaks = np.insert(breaks, 4, -0.55)
    normal, score = block_system(*cell_splines(cells, breaks), weight, value)
    table = spread_basis(breaks, distance.ravel()).reshape(3, 32, -1)
    assert normal == pytest.approx(np.einsum("bc,bci,bcj->bij", weight, table, table), abs=1e-12)
    assert score == pytest.approx(np.einsum("bc,bci,bc->bi", weight, table, value), abs=1e-12)


def test_the_last_bit_of_a_region_does_not_decide_which_pixels_count():
    """An odd number of rows: pixels of the middle one lie just at the ends of the fit.

    Rounding of 1e-16 reaches the width through sums and a system of condition 1e5.
    """
    y, x = np.mgrid[:121, :61].astype(float)
    rng = np.random.default_rng(4)
    region = 0.2 + 0.6 * ndtr((x - 30.2 - 0.08 * (y - 60)) / 4.0)
    region += 0.02 * rng.standard_normal(x.shape)
    rises = [
        slanted_edge(region + 1e-16 * rng.standard_normal(x.shape), 100.0).rise_um_interval[1]
        for _ in range(4)
    ]
    assert np.ptp(rises) < 1e-9 * rises[0]


def test_the_gap_between_samples_is_the_widest_of_the_inner_half():
    """Of 20 cells a pixel apart the middle ten count: a gap before the sixth does not."""
    place = np.arange(20.0)
    for wide, gap in ((5, 1.0), (6, 4.0), (14, 4.0), (15, 1.0)):
        distance = np.where(place < wide, place, place + 3)[None]
        cells = Cells(np.full((1, 20), 7.0), distance, distance, distance, distance)
        assert gap_between_samples(cells) == pytest.approx(gap)


def test_cells_without_any_noise_weigh_by_a_ten_thousandth_of_the_step():
    """Their variance counts as (1e-4 of 0.6)^2 at every tone, so that none weighs without end."""
    fitted = np.linspace(0.2, 0.8, 50)[None]
    count = np.full((1, 50), 10.0)
    cells = Cells(count, fitted, fitted, np.zeros((1, 50)), fitted)
    assert tone_weights(cells, fitted, (0.2, 0.8)) == pytest.approx(count / 6e-5**2)


def test_rows_that_do_not_reach_across_the_edge_have_no_offset():
    """Of an edge whose rows are moved to and fro by half a pixel, the last three left out."""
    y, x = np.mgrid[:120, :90].astype(float)
    moved = np.where(y[:, 0] % 2 == 0, 0.5, -0.5)
    region = 0.2 + 0.6 * ndtr((x - 44.5 - 0.08 * (y - 59.5) - moved[:, None]) / 3.0)
    fit = fit_edge(region, first_curve(region))
    row, distance, value = edge_samples(region, fit.curve, 20.0)
    kept = row < 117
    (offsets,) = row_offsets(row[kept], distance[kept], value[kept], fit, (0.0,))
    assert offsets.shape == (120,)
    assert np.isnan(offsets[117:]).all()
    # along the normal, the cosine of a slope of 0.08; 0.5 of 3 pixels bends the weights by 1 %
    assert offsets[:117] == pytest.approx(moved[:117] / np.hypot(1, 0.08), abs=0.02)


def test_knots_closer_than_the_samples_are_not_halved():
    """Samples 4 pixels apart cannot tell what lies between knots of 1 pixel."""
    place = np.arange(-20.0, 21, 4)[None]
    cells = Cells(np.full(place.shape, 5.0), place, place, place, place)
    breaks = np.arange(-10.0, 11.0)
    kept = halved_where_needed(cells, breaks, np.ones(place.shape))
    assert np.array_equal(kept, breaks)
