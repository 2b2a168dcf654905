"""Pictures to the eye: closed forms and a reference library."""

import numpy as np
import pytest
from skimage.color import deltaE_cie76, xyz2lab

from dotloupe.compare.visibility.picture_difference import (
    XYZ_OF_LINEAR_SRGB,
    picture_difference,
    picture_visibility,
)
from dotloupe.errors import InputError
from dotloupe.measure.seeing import cycles_per_degree, lightness, scielab_transfer

PER_MM = 20.0


def even(rgb, shape=(80, 100)):
    return np.broadcast_to(np.asarray(rgb, dtype=float), (*shape, 3)).copy()


def test_even_colours_differ_as_the_reference_library_says(outside_check):
    first, second = (0.5, 0.4, 0.3), (0.45, 0.42, 0.33)
    white = XYZ_OF_LINEAR_SRGB @ np.ones(3)
    d65 = np.array([0.95047, 1.0, 1.08883])
    lab = [
        xyz2lab(XYZ_OF_LINEAR_SRGB @ rgb / white * d65) for rgb in map(np.array, (first, second))
    ]
    expected = deltaE_cie76(*lab)
    # the eye's filters pass an even colour whole, from any distance
    for distance in (250, 2000):
        found = picture_difference(even(first), even(second), PER_MM, distance)
        claim = f"difference of two even colours from {distance} mm"
        outside_check(claim, "scikit-image, CIE 1976", expected, found, rel=1e-3)


def test_a_faint_grey_wave_is_damped_as_the_luminance_channel_says():
    # 40 pixels a period: 0.5 cycles/mm; the cosine series holds it exactly
    x = np.arange(400) + 0.5
    amplitude = 1e-4
    wave = 0.3 + amplitude * np.cos(2 * np.pi * x / 40)
    grey = np.repeat(np.repeat(wave[None, :, None], 40, axis=0), 3, axis=2)
    distance = 1000.0
    found = picture_difference(grey, even((0.3,) * 3, grey.shape[:2]), PER_MM, distance)
    gain = scielab_transfer(cycles_per_degree(0.5, distance), "luminance")
    slope = (lightness(0.3 + 1e-6) - lightness(0.3 - 1e-6)) / 2e-6
    assert found.max() == pytest.approx(amplitude * gain * slope, rel=0.02)


def test_equal_pictures_do_not_differ():
    rng = np.random.default_rng(1)
    picture = rng.uniform(0.1, 0.9, (60, 60, 3))
    seen = picture_visibility([picture], [picture], PER_MM)
    assert seen.distance_mm == 0
    assert not seen.repeats_known


def test_one_print_beside_three_settles_nothing():
    rng = np.random.default_rng(4)
    plain = np.full((60, 60), 0.4)
    three = [grainy(plain, rng) for _ in range(3)]
    assert not picture_visibility([grainy(plain, rng)], three, PER_MM).repeats_known
    assert picture_visibility(three, three, PER_MM).repeats_known


def grainy(pattern, rng, amplitude=0.03):
    noise = amplitude * rng.standard_normal(pattern.shape)
    return np.repeat(np.clip(pattern + noise, 0, 1)[..., None], 3, axis=2)


def wave(period_px, shape=(160, 160)):
    x = np.arange(shape[1]) + 0.5
    return np.broadcast_to(0.4 + 0.1 * np.cos(2 * np.pi * x / period_px), shape)


def test_what_lies_in_the_same_place_of_every_print_is_found_behind_grain():
    rng = np.random.default_rng(2)
    plain = np.full((160, 160), 0.4)
    flat = [grainy(plain, rng) for _ in range(3)]
    fine = picture_visibility([grainy(wave(10), rng) for _ in range(3)], flat, PER_MM)
    coarse = picture_visibility([grainy(wave(40), rng) for _ in range(3)], flat, PER_MM)
    assert 0 < fine.distance_mm < coarse.distance_mm
    assert fine.interval[0] <= fine.distance_mm <= fine.interval[1]
    assert np.all(np.diff(coarse.difference) <= 0)
    # closed form of the coarse wave: its amplitude behind the luminance channel at 0.5 cycles/mm,
    # in lightness, at its dark crests, where a twentieth of the area is within 1 % of the crest
    gain = scielab_transfer(cycles_per_degree(0.5, coarse.distances_mm), "luminance")
    expected = lightness(0.4) - lightness(0.4 - 0.1 * gain)
    clear = expected > 1
    assert coarse.difference[clear] == pytest.approx(expected[clear], rel=0.03)


def test_grain_alone_is_no_difference_of_pictures():
    rng = np.random.default_rng(3)
    plain = np.full((160, 160), 0.4)
    more = [grainy(plain, rng, 0.12) for _ in range(3)]
    less = [grainy(plain, rng, 0.06) for _ in range(3)]
    seen = picture_visibility(more, less, PER_MM)
    assert seen.interval[0] == 0
    # a print of each differs plainly from near by, by its grain
    alone = picture_visibility(more[:1], less[:1], PER_MM)
    assert alone.difference[0] > 2 * seen.difference[0]


def test_what_counts_can_be_chosen():
    rng = np.random.default_rng(4)
    plain = np.full((160, 160), 0.4)
    half = plain.copy()
    half[:, 80:] = 0.5
    part = np.zeros((160, 160), dtype=bool)
    part[:, :40] = True
    settings = [[grainy(p, rng) for _ in range(2)] for p in (plain, half)]
    assert picture_visibility(*settings, PER_MM).distance_mm == 5000
    # the step lies 2 mm off, which the eye's widest filter reaches from afar
    near = picture_visibility(*settings, PER_MM, part=part)
    assert near.difference[0] < 1


def test_refusals():
    with pytest.raises(InputError, match="cut them alike"):
        picture_difference(even((1, 1, 1)), even((1, 1, 1), (70, 100)), PER_MM, 300)
    with pytest.raises(InputError, match="give a print of each"):
        picture_visibility([], [even((1, 1, 1))], PER_MM)


@pytest.mark.parametrize(
    ("shape", "other_shape"),
    [((40, 40, 3), (40, 41, 3)), ((40, 40), (40, 40)), ((40, 40, 4), (40, 40, 4))],
)
def test_pictures_that_are_not_three_channels_of_one_shape_are_refused(shape, other_shape):
    first, second = np.ones(shape), np.ones(other_shape)
    with pytest.raises(InputError, match="one shape and three channels"):
        picture_difference(first, second, 10.0, 350.0)
    with pytest.raises(InputError, match="one shape and three channels"):
        picture_visibility([first], [second], 10.0)


def test_pictures_of_two_shapes_are_refused():
    with pytest.raises(InputError) as caught:
        picture_visibility([np.ones((40, 40, 3))], [np.ones((40, 41, 3))], 10.0)
    assert str(caught.value) == (
        "pictures of one shape and three channels are needed: cut them alike"
    )
    same = picture_visibility([np.ones((40, 40, 3))], [np.ones((40, 40, 3))], 10.0)
    assert same.difference.tolist() == [0.0] * 12


@pytest.mark.parametrize("second", [(0.05, 0.002, 0.3), (0.002, 0.006, 0.004)])
def test_dark_colours_differ_as_the_reference_library_says(second):
    """Below a luminance factor of 0.008856 lightness is a straight line (CIE 15)."""
    first, second = np.array([0.004, 0.003, 0.002]), np.array(second)
    white = XYZ_OF_LINEAR_SRGB @ np.ones(3)
    d65 = np.array([0.95047, 1.0, 1.08883])
    lab = [xyz2lab(XYZ_OF_LINEAR_SRGB @ rgb / white * d65) for rgb in (first, second)]
    even = [np.broadcast_to(rgb, (40, 50, 3)).copy() for rgb in (first, second)]
    found = picture_difference(*even, 20.0, 400)
    assert found == pytest.approx(np.linalg.norm(lab[0] - lab[1]), rel=1e-3)
