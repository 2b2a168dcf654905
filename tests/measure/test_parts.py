"""Parts of measurements that a whole measurement barely shows, each against a closed form."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial import legendre
from scipy.interpolate import BSpline
from scipy.special import ndtr

from dotloupe.measure.bars.block import _half_way, _placed_block
from dotloupe.measure.bars.harmonics import _peak
from dotloupe.measure.dots.finding import FoundDots, _dot_sigma
from dotloupe.measure.dots.statistics import TAPER, _tapered_counts
from dotloupe.measure.edge.cells import Cells, gap_between_samples, tone_weights
from dotloupe.measure.edge.joint_fit import fit_edge
from dotloupe.measure.edge.knots import halved_where_needed
from dotloupe.measure.edge.least_squares import block_system, cell_splines
from dotloupe.measure.edge.mtf import line_spread_transform
from dotloupe.measure.edge.position import edge_samples, first_curve
from dotloupe.measure.edge.shape import row_offsets
from dotloupe.measure.edge.slanted import slanted_edge
from dotloupe.measure.edge.spread_function import EdgeSpread, extended_knots, spread_basis
from dotloupe.measure.grain.banding import _single_peak
from dotloupe.measure.grain.cautions import CameraNoiseIncluded, PaperIncluded
from dotloupe.measure.grain.noise_spectrum import _fill_lost, noise_spectrum
from dotloupe.measure.grain.ring_spectrum import integrate, multiplied
from dotloupe.measure.grain.shot_shift import shift_between
from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.grain.visibility import _band_error, _seen_to
from dotloupe.measure.texture.cross_spectrum import _starts

SINGLE = 1e-5
"""Spectra are summed in single precision: a thousand values round to this share."""


@pytest.mark.parametrize(
    ("length", "side", "starts"),
    [
        # blocks of 100 half overlapped fit seven times into 400, and once into less than 150
        (400, 100, [0, 50, 100, 150, 200, 250, 300]),
        (149, 100, [0]),
        (150, 100, [0, 50]),
        (100, 100, [0]),
        # 42 to spare: evenly spread
        (192, 100, [0, 92]),
    ],
)
def test_blocks_are_half_overlapped_and_reach_both_ends(length, side, starts):
    assert _starts(length, side).tolist() == starts


def noise(seed, size=128):
    return 0.01 * np.random.default_rng(seed).standard_normal((size, size))


def test_twice_the_grain_is_four_times_the_power_in_all_that_follows_from_it():
    both = noise(1)
    shots = [both + 0.5 * noise(seed) for seed in (2, 3)]
    once, twice = (
        noise_spectrum(k * shots[0], 20.0, second_shot=k * shots[1]).rings for k in (1.0, 2.0)
    )
    four = multiplied(once, np.full_like(once.power, 4.0))
    for name in ("power", "measured", "print_square", "noise_square"):
        expected = getattr(twice, name)
        bound = SINGLE * np.abs(expected).max()
        assert getattr(four, name) == pytest.approx(expected, rel=1e-4, abs=bound), name
    ends, fourfold = integrate(once).interval, integrate(four).interval
    assert fourfold == pytest.approx([4 * end for end in ends])


@pytest.mark.parametrize("sigma", [2.0, 3.0])
def test_the_autocorrelation_of_gaussian_dots_tells_their_size(sigma):
    """Of one dot it is a Gaussian of sqrt(2) sigma; 16 dots of 400 x 400 pixels do not meet."""
    y, x = np.mgrid[:400, :400].astype(float)
    darkness = np.zeros((400, 400))
    for at_x, at_y in np.random.default_rng(0).uniform(-15, 15, (16, 2)) + [
        (50 + 100 * i, 50 + 100 * j) for i in range(4) for j in range(4)
    ]:
        darkness += np.exp(-((x - at_x) ** 2 + (y - at_y) ** 2) / (2 * sigma**2))
    # taken straight between pixels, over a curve that bends by 1/16 a squared pixel: 2 %
    assert _dot_sigma(darkness) == pytest.approx(sigma, rel=0.02)


@pytest.mark.parametrize("shift", [(0.9, -1.2), (-1.3, 0.4)])
def test_a_shift_of_more_than_one_step_is_followed_to_its_end(shift):
    """Steps are half a pixel at most, so that the first leaves most of the way."""
    y, x = np.mgrid[:128, :128].astype(float)
    rng = np.random.default_rng(3)
    one, other = np.zeros((2, 128, 128))
    for fx, fy, phase in rng.uniform(-1, 1, (200, 3)) * (0.15, 0.15, np.pi):
        one += np.cos(2 * np.pi * (fx * x + fy * y) + phase)
        other += np.cos(2 * np.pi * (fx * (x - shift[0]) + fy * (y - shift[1])) + phase)
    # the window does not move with the picture and holds it back by up to 7 % here
    assert shift_between(one, other).shift_px == pytest.approx(shift, abs=0.1)


def test_half_the_way_lies_between_the_first_value_and_the_last():
    position = np.arange(10.0, 15.0)
    # half of 0 to 8 is reached 3/7 of the way from 1 to 8
    assert _half_way(position, np.array([0.0, 1, 8, 8, 8])) == pytest.approx(11 + 3 / 7)
    assert _half_way(position, np.array([2.0, 4, 6, 8, 10])) == pytest.approx(12)
    assert _half_way(position, np.array([3.0, 3, 3, 3, 3])) == 10


@pytest.mark.parametrize(
    ("away", "alone"),
    [((2, 0), True), ((-2, 0), True), ((0, 2), True), ((3, 0), False), ((-3, 0), False),
     ((0, 3), False), ((0, -3), False)],
)  # fmt: skip
def test_a_peak_alone_holds_all_power_within_two_values(away, alone):
    power = np.zeros((40, 30))
    power[20, 10] = 1.0
    power[20 + away[0], 10 + away[1]] = 0.5
    assert _single_peak(power, np.ones(power.shape, bool)) is alone


def test_the_error_of_a_channel_is_that_of_an_octave_about_its_middle():
    rings = noise_spectrum(noise(5), 20.0).rings
    for centre in (0.5, 2.0, 6.0):
        octave = (rings.frequency >= centre / 2**0.5) & (rings.frequency <= centre * 2**0.5)
        found = integrate(rings, octave.astype(float))
        for end in (0, 1):
            expected = np.sqrt(found.interval[end] / found.value)
            assert _band_error(rings, centre, end) == pytest.approx(expected)
    # of an octave below all that was measured the lowest ring tells
    nearest = rings.frequency[rings.frequency > 0].min()
    lowest = (rings.frequency == nearest).astype(float)
    found = integrate(rings, lowest)
    expected = np.sqrt(found.interval[1] / found.value)
    assert _band_error(rings, 1e-3, 1) == pytest.approx(expected)


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


def test_the_camera_is_named_where_neither_a_second_shot_nor_paper_tells_of_it():
    """Each takes the camera's noise out: a second shot, and blank paper of the same shot."""
    light = 0.5 + noise(1, 64)
    alone = grain(light, 40.0)
    with_paper = grain(light, 40.0, paper=0.98 + 0.3 * noise(2, 64))
    with_second = grain(light, 40.0, second_shot=light + 0.1 * noise(3, 64))
    named = [
        any(isinstance(c, CameraNoiseIncluded) for c in g.cautions)
        for g in (alone, with_paper, with_second)
    ]
    assert named == [True, False, False]
    assert [PaperIncluded() in g.cautions for g in (alone, with_paper, with_second)] == [
        True,
        False,
        True,
    ]


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


@pytest.mark.parametrize(("width", "found"), [(57, False), (59, True), (90, True)])
def test_a_group_of_known_size_needs_a_fifth_of_a_period_beside_it(width, found):
    """Three bars of 10 pixels, 20 apart, are 50 wide: with 0.2 periods on both sides 58."""
    first = (width - 50) // 2
    darkness = np.zeros(width)
    for bar in range(3):
        darkness[first + 20 * bar : first + 20 * bar + 10] = 1.0
    borders = (first - 0.5, first + 49.5)
    assert _placed_block(darkness, 20.0, 3) == (pytest.approx(borders) if found else None)


def test_what_a_trend_emptied_is_filled_from_the_ring_around_it():
    """Lost within two steps of zero: what lies up to 1.6 times as far and half a step counts."""
    y, x = np.mgrid[-8:9, 0:9].astype(float)
    radius = np.roll(np.hypot(y, x), 9, axis=0)  # zero frequency first, as a transform has it
    ring = (radius > 2) & (radius <= 3.7)
    power = np.where(ring, 1 + radius, 100.0)
    common, total = power.copy(), 2 * power
    _fill_lost(common, total, np.where(radius <= 2, 1e-6, 1.0), radius)
    assert common[radius <= 2] == pytest.approx(1 + radius[ring].mean())
    assert total[radius <= 2] == pytest.approx(2 + 2 * radius[ring].mean())
    assert np.array_equal(common[radius > 2], power[radius > 2])


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


def test_what_is_seen_from_farthest_is_said_of_there_and_no_farther():
    distances = np.array([100.0, 200.0, 400.0])
    assert _seen_to(distances, np.array([4.0, 2.0, 1.5])) == 400.0
    # strength falls as a power of the distance between samples
    assert _seen_to(distances, np.array([4.0, 2.0, 0.5])) == pytest.approx(200 * 2**0.5)
    assert _seen_to(distances, np.array([0.9, 0.5, 0.1])) == 0.0


def test_a_peak_beyond_its_neighbours_stays_by_them():
    """A flat parabola has its vertex far away: 9.5 steps for 0, 1, 1.9."""
    position = np.array([0.0, 0.1, 0.2])
    assert _peak(position, np.array([0.0, 1.0, 1.9])) == pytest.approx(0.2)
    assert _peak(position, np.array([1.9, 1.0, 0.0])) == pytest.approx(0.0)


def test_dots_fade_out_over_their_own_spacing_whatever_the_shape_of_the_region():
    """A squared sine from 0 to 1 over the taper leaves half of it, at both ends of both sides."""
    height, width, count = 200, 800, 400
    place = np.linspace(0, 1, count)
    found = FoundDots(place * width, place * height, np.ones(count), np.ones(count), 0.1)
    _, areas = _tapered_counts(found, np.zeros(count, np.intp), (height, width))
    taper = TAPER * np.sqrt(height * width / count)
    assert areas.sum() == pytest.approx((height - taper) * (width - taper), rel=1e-3)
