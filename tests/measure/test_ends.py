"""Where measurements end: responses without a half, regions too small, settings out of range."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.bars.group import _whole_periods
from dotloupe.measure.bars.harmonics import Comb
from dotloupe.measure.bars.profile import dark_bars
from dotloupe.measure.camera_mtf import CameraCurve, camera_curve
from dotloupe.measure.edge.combined import combine_edges
from dotloupe.measure.edge.edge_jackknife import ratio_interval
from dotloupe.measure.edge.position import EdgeCurve
from dotloupe.measure.edge.slanted import slanted_edge
from dotloupe.measure.grain.banding import find_banding, in_second_shot
from dotloupe.measure.grain.camera_blur import bands_without_blur, without_blur
from dotloupe.measure.grain.cautions import MostlyPaper, PaperFromOneShot
from dotloupe.measure.grain.even_tint import luminance
from dotloupe.measure.grain.noise_spectrum import detrended, noise_spectrum
from dotloupe.measure.grain.paper_noise import camera_noise_level
from dotloupe.measure.grain.shot_pair import pair_shots
from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.lines.ink_offset import LineWindow, plane_offsets
from dotloupe.measure.lines.printed import printed_line
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.texture.half_level import HalfResponse, as_sent, half_response
from dotloupe.measure.texture.known_texture import (
    DirectionTransfer,
    RegistrationVaries,
    _cautions,
    _crossing,
    _kept,
)

FREQUENCY = np.linspace(0.25, 10.0, 40)


def direction(gain, coherence=None, frequency=FREQUENCY):
    """A transfer known to 5 %."""
    held = np.ones_like(gain) if coherence is None else coherence
    known = dict.fromkeys(DirectionTransfer.__dataclass_fields__)
    known |= {"frequency": frequency, "transfer": gain, "coherence": held}
    known |= {"transfer_low": 0.95 * gain, "transfer_high": 1.05 * gain}
    return DirectionTransfer(**known)


def gaussian(half_at, whole=0.8):
    return whole * np.exp(-np.log(2) * (FREQUENCY / half_at) ** 2)


def test_half_of_a_gaussian_response_is_at_its_mtf50_whatever_its_height():
    half = half_response(direction(gaussian(4.0)))
    value, (low, high) = half.frequency, half.interval
    # rings 0.25 cycles/mm apart, taken straight between them: the curve bends by 1e-3 there
    assert value == pytest.approx(4.0, rel=2e-3)
    # 5 % lower or higher: sqrt(1 + log2 of it) of the frequency
    assert low == pytest.approx(4.0 * np.sqrt(1 + np.log2(0.95)), rel=3e-3)
    assert high == pytest.approx(4.0 * np.sqrt(1 + np.log2(1.05)), rel=3e-3)


def test_a_response_that_stays_above_half_is_open_upward():
    assert half_response(direction(gaussian(40.0))) == HalfResponse(10.0, (10.0, np.inf))


def test_a_rising_response_is_held_against_the_mean_of_its_lowest_rings():
    gain = np.where(FREQUENCY < 5, 1 + 0.01 * FREQUENCY, 0.3)
    value = half_response(direction(gain)).frequency
    assert 4.75 < value < 5.0


def test_too_few_rings_or_too_little_in_the_picture_tell_nothing():
    assert half_response(direction(gaussian(4.0)[:4], frequency=FREQUENCY[:4])) is None
    assert half_response(direction(gaussian(4.0), np.full(40, 0.01))) is None
    # what is held ends at 2.5 cycles/mm, over half
    held = np.where(FREQUENCY > 2.5, 0.0, 0.9)
    assert half_response(direction(gaussian(8.0), held)) is None


def test_what_falls_at_once_falls_at_the_first_ring():
    gain = np.r_[np.full(1, 0.01), np.geomspace(0.01, 0.001, 39)]
    noisy = replace(direction(gain), transfer_low=1e-6 * gain)
    assert half_response(noisy).interval[0] == FREQUENCY[0]


def test_pixels_of_the_file_took_their_sinc():
    sent = as_sent(direction(np.ones(40)), 300.0)
    # 300 ppi hold 5.91 cycles/mm; a pixel of 25.4/300 mm
    below = FREQUENCY < 300 / 25.4 / 2
    assert sent.transfer[below] == pytest.approx(1 / np.sinc(FREQUENCY[below] * 25.4 / 300))
    assert sent.coherence.tolist() == below.astype(float).tolist()
    assert as_sent(sent, None) is sent


def test_coherence_is_kept_up_to_where_it_falls_for_good():
    f = np.arange(1.0, 7.0)
    fell = np.array([0.9, 0.7, 0.9, 0.6, 0.2, 0.1])
    # one ring below 0.8 is chance, two are not: straight from 0.9 at 3 to 0.6 at 4
    assert _crossing(f, fell, 0.8) == pytest.approx(3 + 1 / 3)
    assert _crossing(f, np.full(6, 0.9), 0.8) == 6
    assert _crossing(f, np.full(6, 0.1), 0.8) == 0
    low, high = np.full(6, 0.1), np.full(6, 0.9)
    assert _kept(f, low, np.array([low, fell]), 0.8) == (
        None,
        (0.0, pytest.approx(3 + 1 / 3)),
        None,
    )
    assert _kept(f, high, np.array([high, fell]), 0.8) == (
        6,
        (pytest.approx(3 + 1 / 3), np.inf),
        None,
    )
    assert _cautions(0.4) == ()
    assert _cautions(0.7) == (RegistrationVaries(0.7),)


NOISE = 0.5 + 0.02 * np.random.default_rng(0).standard_normal((128, 128))


def test_a_cameras_blur_is_divided_out_of_a_spectrum():
    rings = noise_spectrum(NOISE, 20.0).rings
    f = np.linspace(0, 12, 61)
    camera = camera_curve((f, np.exp(-np.log(2) * (f / 5) ** 2)))
    divided, reach = without_blur(rings, camera)
    # 0.2 is left at 5 sqrt(log2 5) = 7.62 cycles/mm
    assert reach == pytest.approx(5 * np.sqrt(np.log2(5)), rel=2e-3)
    known = rings.frequency <= reach
    gain = 2.0 ** (2 * (rings.frequency[known] / 5) ** 2)
    assert divided.power[known] == pytest.approx(rings.power[known] * gain, rel=1e-2)
    assert not divided.power[~known].any()


@pytest.mark.parametrize(
    "form", [list, lambda pair: SimpleNamespace(frequency=pair[0], mtf=pair[1])]
)
def test_a_cameras_curve_has_many_forms(form):
    pair = (np.linspace(0, 10, 11), np.linspace(1, 0.5, 11))
    known = camera_curve(pair)
    assert np.array_equal(camera_curve(form(pair)).mtf, known.mtf)
    assert camera_curve(known) is known
    assert camera_curve(known) is known
    assert known.reach == 10
    with pytest.raises(RegionError) as caught:
        camera_curve("sharp")
    assert str(caught.value) == (
        "camera_mtf must be a pair (frequency in cycles/mm, mtf), or an object with .frequency "
        "and .mtf"
    )


def banded(phase=0.0, other=0.0):
    x, y = np.meshgrid(np.arange(160), np.arange(160))
    light = 0.01 * np.cos(2 * np.pi * x / 20 + phase) + other * np.cos(2 * np.pi * y / 16)
    return light + 0.01 * np.random.default_rng(1).standard_normal(light.shape)


def test_a_band_is_as_strong_as_before_the_camera_saw_it():
    found = find_banding(detrended(banded()), 20.0)
    f = np.linspace(0, 10, 11)
    camera = CameraCurve(f, 1 - 0.05 * f, 0 * f)
    # a period of a millimetre, of which the camera keeps 95 %
    for name, before, after in (
        ("band", found.bands[0], bands_without_blur(found, camera).bands[0]),
        ("all", found, bands_without_blur(found, camera)),
    ):
        assert after.strength == pytest.approx(before.strength / 0.95, rel=2e-3), name
        expected = [end / 0.95 for end in before.strength_interval]
        assert after.strength_interval == pytest.approx(expected, rel=2e-3), name
    none = find_banding(detrended(NOISE), 20.0)
    assert bands_without_blur(none, camera) is none
    assert in_second_shot(none, detrended(NOISE), 20.0) == (none, ())


def test_bands_of_one_shot_alone_are_the_cameras():
    found = find_banding(detrended(banded(other=0.012)), 20.0)
    assert [b.direction for b in found.bands] == ["y", "x"]
    both, again = in_second_shot(found, detrended(banded(0.5)), 20.0)
    assert [b.direction for b in both.bands] == ["x"]
    assert both.strength == both.bands[0].strength
    assert len(again) == 1
    kept, waves = in_second_shot(found, detrended(banded(0.5, other=0.012)), 20.0)
    assert kept is found
    assert len(waves) == 2
    none, left = in_second_shot(found, detrended(NOISE), 20.0)
    assert (none.bands, none.strength, left) == ((), 0.0, ())
    # what would have been found is no less than what was taken for the print's
    assert none.strength_interval == (0.0, found.strength_interval[1])


def test_camera_noise_of_a_tint_lies_between_photons_and_electronics():
    """At 0.25 of the paper's light photons leave a quarter of its noise, electronics all of it."""
    least, most = 0.25, 1.0
    assert camera_noise_level(1.0, 0.5, 0.25) == (0.5, pytest.approx((most - least) / 12**0.5 / 2))
    assert camera_noise_level(1.0, 3.0, 0.25) == (least, pytest.approx((most - least) / 12**0.5))


def test_grain_that_is_the_papers_is_said_to_be():
    rng = np.random.default_rng(2)
    paper = tuple(0.98 + 0.02 * rng.standard_normal((96, 96)) for _ in range(1)) * 2
    tint = 0.5 + 0.0105 * rng.standard_normal((96, 96))
    said = grain(tint, 40.0, second_shot=tint, paper=paper).cautions
    assert any(isinstance(caution, MostlyPaper) for caution in said)
    assert PaperFromOneShot() not in said


@pytest.mark.parametrize("distance", [0.0, -1.0, np.inf, np.nan])
def test_a_print_is_looked_at_from_somewhere(distance):
    with pytest.raises(RegionError) as caught:
        grain(NOISE, 40.0, viewing_distance_mm=distance)
    assert str(caught.value) == f"the viewing distance must be above zero, not {distance} mm"


@pytest.mark.parametrize(("factor", "word"), [(1.3, "30 % lighter"), (0.7, "30 % darker")])
def test_shots_of_two_tints_are_no_pair(factor, word):
    with pytest.raises(RegionError) as caught:
        pair_shots(NOISE, factor * NOISE, 40.0)
    assert str(caught.value) == (
        f"the second shot shows a tint {word} than the first: another tint, or another light"
    )


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


def test_two_periods_are_the_fewest_that_are_cut_to_whole_ones():
    comb = Comb(1 / 20, 0.0, 10.0, 0.0)
    # spaces at 0, 20, 40, 60, 80: from the first to the last of them
    assert _whole_periods(comb, 0.0, 90) == slice(0, 80)
    assert _whole_periods(comb, 0.0, 35) == slice(0, 35)


def test_no_bar_is_found_where_none_is_looked_for():
    position = np.arange(50.0)
    profile = 0.5 + 0.4 * np.cos(2 * np.pi * position / 10)
    assert len(dark_bars(position, profile, 10.0, (60.0, 80.0), 0.8)) == 0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: checked_region(np.ones((20, 20)), 0.0, what="line"),
            "line: pixels per mm must be a positive number, not 0.0.",
        ),
        (
            lambda: printed_line(np.ones((40, 40)), 100.0, runs="slanted"),
            "line: it runs 'vertical' or 'horizontal', not 'slanted'.",
        ),
        (
            lambda: plane_offsets(
                np.ones(4),
                100.0,
                [LineWindow("black", 0, 0, 1, 1, 0), LineWindow("cyan", 0, 0, 1, 1, 0)],
            ),
            "plane offsets: a picture has 2 or 3 dimensions, not 1.",
        ),
        (
            lambda: luminance(np.ones((4, 4, 2))),
            (
                "a tint must be an array of rows and columns, or of those by 3 linear colours, but "
                "this one has the shape (4, 4, 2)"
            ),
        ),
    ],
)
def test_what_cannot_be_measured_is_named(call, says):
    with pytest.raises(RegionError) as caught:
        call()
    assert str(caught.value) == says


def test_luminance_is_the_weighted_sum_of_linear_colours():
    # ITU-R BT.709
    rgb = np.array([[[1.0, 0.5, 0.25]]])
    assert luminance(rgb) == pytest.approx(0.2126 + 0.7152 * 0.5 + 0.0722 * 0.25)
    assert luminance(rgb[..., 0]).tolist() == [[1.0]]


def test_the_radius_of_a_spectrum_is_its_distance_from_no_frequency():
    spectrum = noise_spectrum(NOISE, 20.0)
    at = spectrum.radius[3, 4]
    assert at == pytest.approx(np.hypot(spectrum.frequency_y[3], spectrum.frequency_x[4]))
    assert spectrum.radius[0, 0] == 0
