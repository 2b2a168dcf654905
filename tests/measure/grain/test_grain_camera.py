"""What is not ink: paper texture, camera noise of one shot, camera blur; and what can be seen."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq

from dotloupe.errors import RegionError
from dotloupe.measure.grain.cautions import (
    CameraNoiseEstimated,
    CameraNoiseIncluded,
    MostlyPaper,
    RegionBelowStandard,
)
from dotloupe.measure.grain.paper_noise import camera_noise_level
from dotloupe.measure.grain.tint_grain import grain
from dotloupe.measure.seeing import barten_pupil_mm, barten_sensitivity, cycles_per_degree

PIXELS_PER_MM = 40.0
SIDE = 320


def field_of(shape, seed, side=SIDE):
    """Gaussian field of a spectrum shape(f) in mm^2, periodic."""
    f = np.hypot(
        np.fft.fftfreq(side, 1 / PIXELS_PER_MM)[:, None],
        np.fft.rfftfreq(side, 1 / PIXELS_PER_MM)[None, :],
    )
    white = np.random.default_rng(seed).standard_normal((side, side))
    return np.fft.irfft2(np.fft.rfft2(white) * np.sqrt(shape(f)) * PIXELS_PER_MM)


def ink(f):
    return 2e-6 * np.exp(-((f / 9) ** 2))


def texture(f):
    return 3e-6 * np.exp(-((f / 2) ** 2))


def shot(light, seed, power=4e-7):
    """Photon noise: white, its power in proportion to the light."""
    noise = np.random.default_rng(seed).standard_normal(light.shape)
    return light + np.sqrt(power * np.maximum(light, 0)) * PIXELS_PER_MM * noise


def scene(seed):
    """A tint of 0.5 on textured paper, blank paper of the same sort, and the ink alone."""
    inked = 0.5 + field_of(ink, [seed, 1])
    tint = inked * (1 + field_of(texture, [seed, 2]))
    blank = 1 + field_of(texture, [seed, 3])
    return tint, blank, inked


@pytest.mark.parametrize(("weaker", "told"), [(1.0, False), (0.05, True)])
def test_a_reader_is_told_where_paper_is_most_of_what_is_seen(weaker, told):
    """Ink of the fields here outweighs the paper behind the eye; a twentieth of it does not."""
    inked = 0.5 + field_of(lambda f: weaker * ink(f), [0, 1])
    tint = inked * (1 + field_of(texture, [0, 2]))
    blank = 1 + field_of(texture, [0, 3])
    said = grain(tint, PIXELS_PER_MM, paper=blank).cautions
    assert any(isinstance(caution, MostlyPaper) for caution in said) is told


def test_paper_and_camera_noise_of_one_shot_are_subtracted():
    ratios, raw = [], []
    for seed in range(8):
        tint, blank, inked = scene(seed)
        truth = grain(inked, PIXELS_PER_MM)
        got = grain(shot(tint, [seed, 4]), PIXELS_PER_MM, paper=shot(blank, [seed, 5]))
        ratios.append(got.visual_graininess / truth.visual_graininess)
        raw.append(
            grain(shot(tint, [seed, 4]), PIXELS_PER_MM).visual_graininess / truth.visual_graininess
        )
        low, high = got.visual_graininess_interval
        assert low < truth.visual_graininess < high
    # texture adds 0.75e-6 to 2e-6 at low frequency, camera noise 0.2e-6 everywhere
    assert np.mean(raw) > 1.12
    # eight fields of 300 visible modes each for tint and paper: 3 %
    assert np.mean(ratios) == pytest.approx(1, abs=0.05)
    assert CameraNoiseEstimated() in got.cautions


def test_paper_and_tint_in_two_shots():
    tint, blank, inked = scene(20)
    truth = grain(inked, PIXELS_PER_MM)
    shots = [(shot(tint, [s, 1], 2e-6), shot(blank, [s, 2], 2e-6)) for s in (0, 1)]
    got = grain(
        shots[0][0], PIXELS_PER_MM, second_shot=shots[1][0], paper=(shots[0][1], shots[1][1])
    )
    assert got.shots == 2
    # 10,000 modes of the aperture with noise at half the ink's level
    assert got.rms_granularity == pytest.approx(truth.rms_granularity, rel=0.03)
    low, high = got.visual_graininess_interval
    assert low < truth.visual_graininess < high


def test_camera_noise_level_stays_between_photon_and_read_noise():
    # A tint of 0.3 under paper white of power 1: 0.3 if all is photon noise, 1 if all is read.
    assert camera_noise_level(1.0, 0.45, 0.3) == pytest.approx((0.45, 0.7 / 12**0.5 / 2))
    assert camera_noise_level(1.0, 0.1, 0.3)[0] == 0.1
    assert camera_noise_level(1.0, 5.0, 0.3)[0] == 0.3


@pytest.mark.parametrize("as_object", [False, True])
def test_camera_blur_is_taken_out(as_object):
    def mtf(f):
        return np.exp(-((f / 12) ** 2))

    inked = 0.5 + field_of(ink, 31)
    f = np.hypot(
        np.fft.fftfreq(SIDE, 1 / PIXELS_PER_MM)[:, None],
        np.fft.rfftfreq(SIDE, 1 / PIXELS_PER_MM)[None, :],
    )
    blurred = np.fft.irfft2(np.fft.rfft2(inked) * mtf(f))
    frequency = np.linspace(0, 20, 81)
    camera = (frequency, mtf(frequency))
    if as_object:
        camera = SimpleNamespace(frequency=camera[0], mtf=camera[1])
    truth = grain(inked, PIXELS_PER_MM)
    got = grain(blurred, PIXELS_PER_MM, camera_mtf=camera)
    # MTF 0.2 is at 12 sqrt(ln 5) = 15.22 cycles/mm: above, nothing is said
    assert got.trusted_to == pytest.approx(15.22, abs=0.05)
    below = got.frequency < 15
    # tapers mix neighbouring frequencies before the division: 1 %
    np.testing.assert_allclose(got.noise_power[below], truth.noise_power[below], rtol=0.05)
    assert got.rms_granularity == pytest.approx(truth.rms_granularity, rel=0.01)
    assert grain(blurred, PIXELS_PER_MM).rms_granularity < 0.9 * truth.rms_granularity


def test_bands_have_their_strength_on_the_print():
    # A wave of 0.01 at 4 cycles/mm behind a camera of MTF 0.5 there arrives as 0.005.
    x = np.arange(SIDE) / PIXELS_PER_MM
    field = 0.5 + 0.005 * np.sin(2 * np.pi * 4 * x)[None, :] + field_of(ink, 32) / 4
    got = grain(field, PIXELS_PER_MM, camera_mtf=(np.array([0.0, 8.0]), np.array([1.0, 0.0])))
    assert got.bands[0].amplitude == pytest.approx(0.01, rel=0.03)
    assert got.banding == pytest.approx(got.bands[0].strength)
    grainy = np.sqrt(got.graininess**2 - got.graininess_without_banding**2)
    # variance of the wave in density, less what the 42.3 um cell takes at 4 cycles/mm
    assert grainy == pytest.approx(0.01 / 2**0.5 * 0.4343 / 0.5 * np.sinc(0.0423 * 4), rel=0.03)


@pytest.mark.parametrize(
    ("camera", "reason"),
    [
        (3.0, "must be a pair"),
        ((np.arange(3.0), np.ones(2)), "one length"),
        ((np.array([0.0, 10.0]), np.array([1.0, np.nan])), "missing values"),
    ],
)
def test_camera_curves_that_are_none_are_refused(camera, reason):
    with pytest.raises(RegionError, match=reason):
        grain(0.5 + field_of(ink, 31, 64), PIXELS_PER_MM, camera_mtf=camera)


def test_one_shot_alone_says_what_camera_noise_could_be():
    # Camera noise of a quarter of the ink's low-frequency power: a fifth of the sum is seen.
    got = grain(shot(0.5 + field_of(ink, 5), 6, power=1e-6), PIXELS_PER_MM)
    (noise,) = [c for c in got.cautions if isinstance(c, CameraNoiseIncluded)]
    assert noise.share == pytest.approx(0.2, abs=0.04)


def test_colour_is_taken_as_luminance():
    gray = 0.5 + field_of(ink, 7, 96)
    colour = np.stack([gray, gray, gray], axis=2)
    got, same = grain(colour, PIXELS_PER_MM), grain(gray, PIXELS_PER_MM)
    assert got.visual_graininess == pytest.approx(same.visual_graininess, rel=1e-5)
    # noise in blue alone counts by blue's share of luminance (ITU-R BT.709); the mean, and with it
    # the slope of lightness, differs by a few parts in a thousand
    colour[:, :, :2] = 0.5
    blue = grain(colour, PIXELS_PER_MM)
    assert blue.visual_graininess == pytest.approx(0.0722 * same.visual_graininess, rel=5e-3)


def test_small_regions_and_large_ones():
    small = grain(0.5 + field_of(ink, 8, 104), PIXELS_PER_MM)
    large = grain(0.5 + field_of(ink, 9, 512), PIXELS_PER_MM)
    assert small.tiles == 4
    assert large.tiles == 100
    # 254 pixels at 40 to the mm are five tiles of 1.27 mm to the last pixel
    assert grain(0.5 + field_of(ink, 8, 254), PIXELS_PER_MM).tiles == 25
    assert any(isinstance(caution, RegionBelowStandard) for caution in small.cautions)
    assert not any(isinstance(caution, RegionBelowStandard) for caution in large.cautions)

    def width(result):
        low, high = result.visual_graininess_interval
        return (high - low) / result.visual_graininess

    # 24 times the area: intervals of grain narrow by about the root of it
    assert width(small) / width(large) == pytest.approx(24.2**0.5, rel=0.35)


def test_grain_is_seen_from_where_its_contrast_meets_the_threshold():
    # Noise in a narrow band about 1.5 cycles/mm: one channel holds it all, so it is seen up to
    # where the square root of two times its rms contrast meets one over Barten's sensitivity.
    rms = 0.004
    band = np.zeros((SIDE, SIDE // 2 + 1))
    f = np.hypot(
        np.fft.fftfreq(SIDE, 1 / PIXELS_PER_MM)[:, None],
        np.fft.rfftfreq(SIDE, 1 / PIXELS_PER_MM)[None, :],
    )
    band[np.abs(f - 1.5) < 0.15] = 1
    field = np.fft.irfft2(
        np.fft.rfft2(np.random.default_rng(3).standard_normal((SIDE,) * 2)) * band
    )
    field *= 0.5 * rms / field.std()

    def over_threshold(distance):
        angle = np.degrees(2 * np.arctan(50 / distance))
        light = 140 * 0.5
        sensitivity = barten_sensitivity(
            cycles_per_degree(1.5, distance),
            luminance=light,
            field_deg=angle,
            pupil_mm=barten_pupil_mm(light, angle),
        )
        return float(np.log(np.sqrt(2) * rms * sensitivity))

    expected = brentq(over_threshold, 300, 5000)
    result = grain(0.5 + field, PIXELS_PER_MM)
    # the taper widens the band by 0.2 cycles/mm, where sensitivity falls steeply: 10 %
    assert result.visible_to_mm == pytest.approx(expected, rel=0.1)
    low, high = result.visible_to_mm_interval
    assert low <= result.visible_to_mm <= high
    fainter = grain(0.5 + field / 20, PIXELS_PER_MM)
    assert fainter.visible_to_mm < result.visible_to_mm
