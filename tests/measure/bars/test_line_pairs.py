"""Line pairs against the 1951 bar target, the series of a square wave, and false resolution.

All pictures here are drawn or simulated.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.bars.cautions import BarsInSpaces, BarsLostInGrain, FewPixelsPerLinePair
from dotloupe.measure.bars.coltman_series import coltman
from dotloupe.measure.bars.line_pairs import line_pairs

PX = 200.0
LIGHT, DARK = 1.0, 0.2
# MIL-STD-150A, the 1951 bar target: lp/mm of elements 1 to 6 of groups 0 to 3.
TARGET_1951 = {
    0: (1.00, 1.12, 1.26, 1.41, 1.59, 1.78),
    1: (2.00, 2.24, 2.52, 2.83, 3.17, 3.56),
    2: (4.00, 4.49, 5.04, 5.66, 6.35, 7.13),
    3: (8.00, 8.98, 10.08, 11.31, 12.70, 14.25),
}


def bar_target(
    frequency,
    bars=5,
    blur_mm=0.01,
    length_mm=1.7,
    margin_mm=0.25,
    tilt_deg=0.0,
    px=PX,
    noise=0.0,
    grain=0.0,
    light_fall=0.0,
    seed=0,
):
    """Bars of half a period on paper, blurred by a Gaussian, as values at the pixels' centres."""
    w = round(((bars - 0.5) / frequency + 2 * margin_mm) * px)
    h = round((length_mm + 2 * margin_mm) * px)
    x = (np.arange(w) - (w - 1) / 2) / px
    y = ((np.arange(h) - (h - 1) / 2) / px)[:, None]
    c, s = np.cos(np.radians(tilt_deg)), np.sin(np.radians(tilt_deg))
    across, along = x * c - y * s, x * s + y * c
    ink = np.zeros((h, w))
    for centre in (np.arange(bars) - (bars - 1) / 2) / frequency:
        ink += ndtr((across - centre + 0.25 / frequency) / blur_mm)
        ink -= ndtr((across - centre - 0.25 / frequency) / blur_mm)
    ink *= ndtr((along + length_mm / 2) / blur_mm) - ndtr((along - length_mm / 2) / blur_mm)
    picture = (LIGHT - (LIGHT - DARK) * ink) * (1 + light_fall * x / x.max())
    rng = np.random.default_rng(seed)
    if grain:
        field = gaussian_filter(rng.standard_normal((h, w)), 2)
        picture += grain * field / field.std() * np.sqrt(0.2 + ink * (1 - ink))
    return picture + noise * rng.standard_normal((h, w))


def square_wave_contrast(frequency, blur_mm):
    """(max - min)/(max + min) of an endless square wave under a Gaussian blur, by its series."""
    k = np.arange(1, 2001, 2)
    passed = np.exp(-2 * (np.pi * blur_mm * k * frequency) ** 2)
    swing = 4 / np.pi * np.sum((-1.0) ** ((k - 1) // 2) * passed / k)
    return (LIGHT - DARK) / (LIGHT + DARK) * swing


@pytest.mark.parametrize("group", TARGET_1951)
def test_elements_of_the_1951_target_have_their_published_frequency(group, outside_check):
    for element, published in enumerate(TARGET_1951[group], start=1):
        frequency = 2 ** (group + (element - 1) / 6)
        assert abs(frequency - published) < 0.006
        px = min(40 * frequency, PX)
        picture = bar_target(
            frequency,
            bars=3,
            length_mm=2.5 / frequency,
            margin_mm=1 / frequency,
            blur_mm=1.6 / px,
            px=px,
        )
        found = line_pairs(picture, px, published)
        assert found.resolved
        assert found.bars_found == found.bars_drawn == 3
        # The bars are fitted, not looked up: 0.006 lp/mm is the rounding of the table.
        claim = f"frequency fitted to element {element} of group {group}, lp/mm"
        outside_check(claim, "MIL-STD-150A", published, found.frequency_found, abs=0.006)


@pytest.mark.parametrize("frequency", [4.0, 8.0, 12.7, 16.0])
@pytest.mark.parametrize("blur_mm", [0.012, 0.02])
@pytest.mark.parametrize("bars", [3, 5])
def test_contrast_is_that_of_an_endless_square_wave(frequency, blur_mm, bars, outside_check):
    picture = bar_target(frequency, bars=bars, blur_mm=blur_mm, tilt_deg=1.7)
    found = line_pairs(picture, PX, frequency)
    # 0.003 of contrast: pixels cut off the harmonics of the sharpest group here.
    outside_check(
        f"contrast of {bars} bars at {frequency:g} lp/mm, blur {1000 * blur_mm:g} um",
        "closed form, series of a square wave",
        square_wave_contrast(frequency, blur_mm),
        found.contrast,
        abs=0.003,
    )


def averaged_bars(period_px, bars=7, height=60, slope=0.01, samples=16):
    """Sharp bars averaged over square pixels, nothing else blurring them."""
    width = int(period_px * (bars + 6))
    x = (np.arange(width * samples) + 0.5) / samples - slope * np.arange(height)[:, None]
    turns = x / period_px - 3
    ink = (turns % 1 < 0.5) & (turns >= 0) & (turns < bars)
    return LIGHT - (LIGHT - DARK) * ink.reshape(height, width, samples).mean(axis=2)


@pytest.mark.parametrize("period_px", [4.0, 5.0, 5.9, 7.0, 8.0, 10.0, 12.0])
def test_few_pixels_a_line_pair_add_no_contrast(period_px):
    """The first harmonic of sharp bars is 4/pi of the contrast; pixels cut off what lowers it.

    Square pixels leave a plateau in every bar, so the object's contrast is seen: 2 %.
    """
    picture = averaged_bars(period_px)
    noise = 0.003 * np.random.default_rng(0).standard_normal(picture.shape)
    found = line_pairs(picture + noise, 1.0, 1 / period_px)
    assert found.contrast == pytest.approx((LIGHT - DARK) / (LIGHT + DARK), rel=0.02)


def test_frequency_off_by_one_percent_and_uneven_light_cost_little():
    picture = bar_target(10.1, blur_mm=0.018, tilt_deg=-2.0, light_fall=0.03)
    found = line_pairs(picture, PX, 10.0, bars_drawn=5)
    assert found.frequency_found == pytest.approx(10.1, rel=0.002)
    assert found.contrast == pytest.approx(square_wave_contrast(10.1, 0.018), rel=0.01)
    assert found.tilt_deg == pytest.approx(-2.0, abs=0.05)


def test_horizontal_bars_are_vertical_bars_turned():
    picture = bar_target(9.0, tilt_deg=1.0, noise=0.01)
    upright, level = line_pairs(picture, PX, 9.0), line_pairs(picture.T, PX, 9.0, bars="horizontal")
    assert upright.contrast == level.contrast
    assert upright.bars_found == level.bars_found == 5


def test_bars_from_wall_to_wall():
    column = np.arange(400) / PX
    blur = np.exp(-2 * (np.pi * 0.02 * 8.08 * np.arange(1, 40, 2)) ** 2)
    k = np.arange(1, 40, 2)[:, None]
    waves = np.sin(2 * np.pi * 8.08 * k * column + 0.7) / k
    profile = 0.6 + 0.4 * 4 / np.pi * (blur[:, None] * waves).sum(axis=0)
    rng = np.random.default_rng(1)
    found = line_pairs(np.tile(profile, (300, 1)) + 0.01 * rng.standard_normal((300, 400)), PX, 8.0)
    assert found.resolved
    assert found.bars_found in (15, 16)
    assert found.frequency_found == pytest.approx(8.08, rel=0.001)
    assert found.contrast == pytest.approx(square_wave_contrast(8.08, 0.02), rel=0.01)
    assert found.phase_deg is None


@pytest.mark.parametrize("tilt_deg", [-2.0, 0.0, 2.0])
def test_a_group_drawn_about_the_middle_has_its_middle_bar_there(tilt_deg):
    """Places belong to the middle row: a row beside it lies 0.035 pixels off at two degrees."""
    picture = bar_target(8.0, blur_mm=0.012, tilt_deg=tilt_deg)
    found = line_pairs(picture, PX, 8.0, bars_drawn=5)
    assert found.drawn_mm[2] * PX == pytest.approx(picture.shape[1] / 2, abs=1e-4)


def test_levels_make_contrast_relative_to_large_areas():
    picture = bar_target(4.0, blur_mm=0.005)
    assert line_pairs(picture, PX, 4.0).contrast == pytest.approx(0.8 / 1.2, rel=0.01)
    assert line_pairs(picture, PX, 4.0, levels=(LIGHT, DARK)).contrast == pytest.approx(1, rel=0.01)


def test_modulation_is_that_of_a_sine_wave():
    found = line_pairs(bar_target(8.0, blur_mm=0.02), PX, 8.0, levels=(LIGHT, DARK))
    assert found.modulation == pytest.approx(np.exp(-2 * (np.pi * 0.02 * 8) ** 2), rel=0.01)


def sent_bars(frequency, ppi, start_mm, halftone_seed=None, bars=5, px=PX):
    """Bars area-sampled to the sent file's pixels, shown as squares; halftoned if seeded."""
    pixel = 25.4 / ppi
    width, height = (bars - 0.5) / frequency + 1.0, 2.2
    borders = np.arange(0, width + pixel, pixel)
    first = 0.5 + start_mm
    left = first + np.arange(bars) / frequency
    covered = np.clip(borders[:, None], left, left + 0.5 / frequency).sum(axis=1)
    ink = np.diff(covered) / pixel
    ink = np.repeat(ink[None], round(height / pixel), axis=0)
    rows = np.arange(len(ink)) * pixel
    ink[(rows < 0.25) | (rows > 1.95)] = 0
    fine = 8
    ink = np.kron(ink, np.ones((fine, fine)))
    if halftone_seed is not None:
        ink = (ink > np.random.default_rng(halftone_seed).random(ink.shape)).astype(float)
    step = px * pixel / fine
    y = np.minimum((np.arange(int(len(ink) * step)) + 0.5) / step, len(ink) - 1).astype(int)
    x = np.minimum((np.arange(int(ink.shape[1] * step)) + 0.5) / step, ink.shape[1] - 1).astype(int)
    picture = LIGHT - (LIGHT - DARK) * ink[np.ix_(y, x)]
    return gaussian_filter(picture, 0.008 * px), first + 0.25 / frequency


@pytest.mark.parametrize("start_mm", [0.0, 0.021, 0.043, 0.07, 0.09])
@pytest.mark.parametrize("halftone_seed", [None, 3])
def test_false_resolution_is_refused(start_mm, halftone_seed):
    """15 lp/mm through a 240 ppi file, whose Nyquist is 4.72 lp/mm: bars of another number."""
    picture, first = sent_bars(15.0, 240, start_mm, halftone_seed)
    swing = np.ptp(picture[picture.shape[0] // 3 : -picture.shape[0] // 3].mean(axis=0))
    assert swing > 0.3  # there is contrast to be fooled by
    for known in ({}, {"bars_drawn": 5}, {"bars_drawn": 5, "first_bar_mm": first}):
        assert not line_pairs(picture, PX, 15.0, **known).resolved


def test_the_same_bars_through_a_fine_file_are_resolved():
    picture, first = sent_bars(15.0, 1440, 0.02)
    assert line_pairs(picture, PX, 15.0, bars_drawn=5, first_bar_mm=first).resolved


def test_defocus_past_its_first_zero_reverses_the_bars_and_is_refused():
    """A disc of diameter d has its first zero at 1.22/d; bars beyond it come back reversed."""
    frequency, diameter = 8.0, 1.65 / 8.0
    picture = bar_target(frequency, blur_mm=0.003, margin_mm=0.5)
    radius = diameter * PX / 2
    y, x = np.mgrid[-30:31, -30:31]
    disc = np.clip(radius + 0.5 - np.hypot(x, y), 0, 1)
    from scipy.signal import fftconvolve

    blurred = 1 - fftconvolve(1 - picture, disc / disc.sum(), mode="same")
    found = line_pairs(blurred, PX, frequency, bars_drawn=5, threshold=0.03)
    assert abs(found.contrast) > 0.03
    assert abs(found.phase_deg) > 150
    assert not found.resolved


def test_bars_half_a_period_from_where_they_were_drawn_are_refused():
    picture = bar_target(8.0)
    first = 0.25 + 0.25 / 8
    assert line_pairs(picture, PX, 8.0, first_bar_mm=first).resolved
    moved = line_pairs(picture, PX, 8.0, first_bar_mm=first + 0.5 / 8)
    assert not moved.resolved
    assert abs(moved.phase_deg) == pytest.approx(180, abs=5)
    third = line_pairs(picture, PX, 8.0, first_bar_mm=first + 0.33 / 8)
    assert third.bars_found == third.bars_drawn == 5
    assert third.cautions[0] == BarsInSpaces()
    assert third.phase_deg == pytest.approx(-0.33 * 360, abs=5)


def test_fundamental_and_coltman_series_agree():
    """Two ways to the same modulation: by the fold's first harmonic, and by the series."""
    frequencies = 2 ** (np.arange(12, 27) / 6)
    groups = [
        line_pairs(bar_target(f, blur_mm=0.02), PX, f, bars_drawn=5, levels=(LIGHT, DARK))
        for f in frequencies
    ]
    series = coltman(frequencies, [g.contrast for g in groups])
    # Contrast of 0.02 at the last group is all that the series lacks.
    assert np.abs(series.modulation - [g.modulation for g in groups]).max() < 0.01


def test_a_smeared_group_is_measured_and_not_resolved():
    found = line_pairs(bar_target(16.0, blur_mm=0.04, margin_mm=0.4, noise=0.01), PX, 16.0)
    assert not found.resolved
    assert abs(found.contrast) < 0.02
    assert found.cautions


@pytest.mark.parametrize(
    ("region", "says"),
    [
        (np.full((200, 200), 0.9), "even"),
        (0.9 + 0.02 * np.random.default_rng(0).standard_normal((200, 200)), "even"),
        (np.full((200, 200), np.nan), "not numbers"),
        (np.ones((4, 200)), "pixels"),
        (np.ones((200, 200, 3)), "one channel"),
        (np.minimum(bar_target(8.0, noise=0.05), 1.0), "clipped"),
        (np.ones((200, 30)), "line pairs"),
    ],
)
def test_regions_without_bars_are_refused(region, says):
    with pytest.raises(RegionError, match=rf"^line pairs\b.*{says}"):
        line_pairs(region, PX, 8.0)


def test_too_few_pixels_a_line_pair_are_refused():
    with pytest.raises(RegionError, match="photograph closer"):
        line_pairs(bar_target(8.0), PX, 90.0)


def test_a_shape_that_is_not_square_is_read_at_the_centres_of_bars_and_spaces():
    """With a second harmonic both centres move alike: 0.5 - 0.3 - 0.1 and 0.5 + 0.3 - 0.1."""
    turns = 2 * np.pi * 16 * np.arange(400) / PX + 0.4
    profile = 0.5 - 0.3 * np.cos(turns) - 0.1 * np.cos(2 * turns)
    noise = 0.003 * np.random.default_rng(3).standard_normal((300, 400))
    found = line_pairs(profile + noise, PX, 16.0)
    # noise of 0.003 in 120,000 pixels leaves 1e-5 of reflectance; without the harmonic 0.6
    assert found.contrast == pytest.approx((0.7 - 0.1) / (0.7 + 0.1), abs=5e-4)


@pytest.mark.parametrize("late", [0.0, 0.1, -0.2])
def test_bars_from_wall_to_wall_have_a_phase_where_their_place_is_known(late):
    """Darkest where the cosine's turns are whole: 0.4 radians before the first column, and on."""
    turns = 2 * np.pi * 16 * np.arange(400) / PX + 0.4
    noise = 0.003 * np.random.default_rng(3).standard_normal((300, 400))
    first = (1 - 0.4 / (2 * np.pi)) / 16 + 0.5 / PX
    region = 0.5 - 0.3 * np.cos(turns) + noise
    found = line_pairs(region, PX, 16.0, first_bar_mm=first - late / 16)
    assert found.phase_deg == pytest.approx(360 * late, abs=0.5)
    assert found.bars_match


@pytest.mark.parametrize(("period_px", "told"), [(4.8, True), (5.2, False), (5.9, False)])
def test_fewer_than_five_pixels_a_line_pair_are_named(period_px, told):
    picture = averaged_bars(period_px)
    noise = 0.003 * np.random.default_rng(0).standard_normal(picture.shape)
    found = line_pairs(picture + noise, 1.0, 1 / period_px)
    named = [c.pixels for c in found.cautions if isinstance(c, FewPixelsPerLinePair)]
    assert named == ([pytest.approx(period_px, rel=0.01)] if told else [])
    assert len(found.cautions) == len(named)


def test_where_no_bars_stand_clear_the_bars_asked_for_are_counted():
    """Grain on a shade that darkens to one side, no paper beside it: nothing but the request."""
    shade = 0.6 + 0.1 * np.cos(np.pi * np.arange(400) / 400)
    grain = 0.1 * np.random.default_rng(0).standard_normal((300, 400))
    found = line_pairs(shade + grain, PX, 8.0)
    # 400 pixels hold 16 periods of 25 pixels, 15 of them whole from space to space
    assert found.bars_drawn in (15, 16)
    assert np.diff(found.drawn_mm) == pytest.approx(np.full(found.bars_drawn - 1, 1 / 8))
    assert found.frequency_found is None
    assert not found.resolved
    assert BarsLostInGrain() in found.cautions


@pytest.mark.slow
@pytest.mark.parametrize(("frequency", "blur_mm"), [(5.0, 0.03), (8.0, 0.02), (10.0, 0.025)])
def test_intervals_hold_the_truth(frequency, blur_mm):
    """Coloured grain that depends on tone, 300 groups: 95 % of the truths inside, 92 to 98."""
    truth = square_wave_contrast(frequency, blur_mm)
    inside = 0
    for seed in range(300):
        picture = bar_target(
            frequency, blur_mm=blur_mm, tilt_deg=0.8, noise=0.02, grain=0.05, seed=seed
        )
        low, high = line_pairs(picture, PX, frequency, bars_drawn=5).contrast_interval
        inside += low <= truth <= high
    print(f"{frequency} lp/mm, contrast {truth:.3f}: {inside / 3:.1f} % inside")
    assert 276 <= inside <= 294
