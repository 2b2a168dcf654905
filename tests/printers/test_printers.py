"""The printers print what was sent, each in its own way; faults and truths do what they say."""

import sys
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import HELD_OUT, METHODS, PRINTERS, TUNED, Driver, Print, Printer
from printers.cameras import Camera, draw_camera, photograph
from printers.printed import LEVELS_AT_FULL, MARGIN_MM, MM_PER_INCH
from printers.truth import LUMINANCE, VIEWING_MM, true_edge, true_grain

GREYS = (0.9, 0.7, 0.5, 0.35, 0.2, 0.12)
STEP_MM = 2.5
CAMERA = Camera(pixels_per_mm=100.0).still
SPOT_MM = 0.02


@cache
def greys(name, seed=1):
    pixels = round(STEP_MM * 600 / MM_PER_INCH)
    drawing = np.repeat(np.array(GREYS), pixels)[None, :, None] * np.ones((pixels, 1, 3))
    return PRINTERS[name].print_drawing(drawing, 600, seed)


@cache
def tint(name):
    printed = PRINTERS[name].print_drawing(np.full((142, 142, 3), 0.5), 600, 3)
    return printed.cut(0.5, 0.5, 5, 5) @ LUMINANCE, printed.pixels_per_mm


def spectrum(name):
    light, per_mm = tint(name)
    taper = np.hanning(light.shape[0])[:, None] * np.hanning(light.shape[1])
    power = np.abs(np.fft.fft2((light - light.mean()) * taper)) ** 2 / per_mm**2
    fy, fx = (np.fft.fftfreq(n, 1 / per_mm) for n in light.shape)
    return np.hypot(fy[:, None], fx), power


def spots(places_mm):
    """A black sheet with Gaussian spots of light."""
    per_mm = 120.0
    size = (SHEET_MM[0] + 2 * MARGIN_MM, SHEET_MM[1] + 2 * MARGIN_MM)
    x = (np.arange(round(size[0] * per_mm)) + 0.5) / per_mm - MARGIN_MM
    y = (np.arange(round(size[1] * per_mm)) + 0.5) / per_mm - MARGIN_MM
    sheet = np.zeros((y.size, x.size))
    for across, down in places_mm:
        near_x = np.exp(-((x - across) ** 2) / (2 * SPOT_MM**2))
        sheet += np.exp(-((y - down) ** 2) / (2 * SPOT_MM**2))[:, None] * near_x
    levels = np.repeat((sheet * LEVELS_AT_FULL).astype(np.uint16)[None], 3, axis=0)
    return Print(levels, per_mm, SHEET_MM, (1.0, 1.0, 1.0))


SHEET_MM = (9.0, 6.0)
PLACES_MM = [(x, y) for y in (-0.4, 3.0, 6.4) for x in (-0.4, 4.5, 9.4)]


def variances_um2(fault, strength, seed=0):
    """Sum of both variances of each spot's image, in row order."""
    camera = Camera(pixels_per_mm=100.0, exposure=0.5).still
    light = photograph(sheet(), camera, fault=fault, strength=strength, seed=seed).linear[..., 1]
    out = []
    for across, down in PLACES_MM:
        x, y = (round((c + 1.3) * 100) for c in (across, down))
        part = light[y - 30 : y + 31, x - 30 : x + 31]
        total = 0.0
        for axis in (0, 1):
            profile = part.sum(axis=axis)
            place = np.arange(profile.size)
            mean = (profile * place).sum() / profile.sum()
            total += (profile * (place - mean) ** 2).sum() / profile.sum()
        out.append(100.0 * total)
    return np.array(out).reshape(3, 3)


@cache
def sheet():
    return spots(PLACES_MM)


@cache
def sharp_um2():
    return variances_um2(None, 0.0)


def test_two_printers_are_held_out_and_the_rest_may_be_tuned_on():
    assert len(HELD_OUT) == 2
    assert len(TUNED) >= 5
    assert set(HELD_OUT).isdisjoint(TUNED)
    assert {*HELD_OUT, *TUNED} == set(PRINTERS)


@pytest.mark.parametrize("name", PRINTERS)
def test_tones_fall_and_lie_near_what_was_sent(name):
    printed = greys(name)
    means = [
        printed.cut(i * STEP_MM + 0.4, 0.4, STEP_MM - 0.8, STEP_MM - 0.8).mean() for i in range(6)
    ]
    assert np.all(np.diff(means) < 0)
    assert np.abs(np.array(means) - GREYS).max() < 0.06


@pytest.mark.parametrize("name", PRINTERS)
def test_a_seed_repeats_a_print_and_another_does_not(name):
    drawing = np.full((48, 48, 3), 0.4)
    first, again, other = (PRINTERS[name].print_drawing(drawing, 600, s) for s in (1, 1, 2))
    assert np.array_equal(first.levels, again.levels)
    inside = slice(int(MARGIN_MM * first.pixels_per_mm) + 20, -int(MARGIN_MM * first.pixels_per_mm))
    assert not np.array_equal(first.levels[:, inside, inside], other.levels[:, inside, inside])


def test_no_two_printers_have_the_same_noise():
    bands = (0.5, 2, 4, 8, 16, 32)

    def by_band(name):
        frequency, power = spectrum(name)
        pairs = pairwise(bands)
        return np.log10([power[(frequency >= a) & (frequency < b)].mean() for a, b in pairs])

    levels = {name: by_band(name) for name in PRINTERS}
    for one, other in combinations(PRINTERS, 2):
        assert np.abs(levels[one] - levels[other]).max() > 0.15, (one, other)


@pytest.mark.parametrize(("name", "lines"), [("clustered_150", 150), ("clustered_200", 200)])
def test_clustered_dots_have_their_lines_per_inch(name, lines):
    frequency, power = spectrum(name)
    peak = frequency.flat[np.argmax(np.where(frequency > 1, power, 0))]
    assert peak == pytest.approx(lines / MM_PER_INCH, rel=0.03)


@pytest.mark.parametrize("method", METHODS)
def test_drivers_resample_as_they_are_called(method):
    step = np.repeat(np.where(np.arange(120) < 59, 50.0, 200.0)[None, :, None], 40, axis=0)
    step = np.repeat(step, 3, axis=-1)
    assert np.array_equal(Driver(600, method).resample(step, 600), step)
    out = Driver(720, method).resample(step, 300)
    assert out.shape == (96, 288, 3)
    over = (out.max() - 200) / 150
    assert 0.03 < over < 0.05 if method == "bicubic" else over == 0
    values = np.unique(out)
    assert values.size == 2 if method == "nearest" else values.size > 2
    if method == "area":
        assert Driver(200, method).resample(step, 600).mean() == pytest.approx(step.mean())


def test_a_camera_takes_the_paper_to_its_exposure_and_both_files_read_alike(tmp_path):
    printed = greys("diffusion_1200")
    means = []
    for kind in ("srgb8", "linear16"):
        camera = Camera(pixels_per_mm=60.0, exposure=0.7, mosaic=kind == "srgb8", kind=kind)
        shot = photograph(printed, camera, seed=4)
        assert shot.linear[:20].mean() == pytest.approx(0.7, rel=0.01)
        capture = shot.to_capture(tmp_path)
        means.append(float(capture.reflectance.mean()))
    assert means[0] == pytest.approx(means[1], rel=0.01)


def test_a_photograph_is_repeated_by_its_seed():
    camera = draw_camera(5, pixels_per_mm=(60, 70))
    shots = [photograph(greys("dye_300"), camera, seed=s).pixels for s in (1, 1, 2)]
    assert np.array_equal(shots[0], shots[1])
    assert not np.array_equal(shots[0], shots[2])


def test_a_fault_unknown_is_refused():
    with pytest.raises(ValueError, match="no fault"):
        photograph(sheet(), CAMERA, fault="rain", strength=1)


@pytest.mark.parametrize("diameter_um", [60.0, 120.0])
def test_defocus_widens_by_its_disc(diameter_um):
    more = variances_um2("defocus", diameter_um) - sharp_um2()
    pixels = 2 * 10.0**2 / 12  # the disc is shared among pixels
    assert more == pytest.approx(diameter_um**2 / 8 + pixels, rel=0.05)


def test_motion_widens_by_its_path():
    more = variances_um2("motion", 120.0) - sharp_um2()
    assert more == pytest.approx(120.0**2 / 12, rel=0.08)


def test_a_soft_corner_is_soft_in_one_corner_alone():
    more = variances_um2("soft corner", 120.0) - sharp_um2()
    corners = np.sort(more[::2, ::2].ravel())
    assert corners[3] > 0.6 * 120.0**2 / 8
    assert np.abs(corners[:3]).max() < 60
    assert abs(more[1, 1]) < 60


def test_a_tilt_blurs_towards_one_side():
    more = variances_um2("tilt", 120.0) - sharp_um2()
    assert more.max() > 0.5 * 120.0**2 / 8
    assert more.min() < 0.1 * more.max()


def test_a_curl_blurs_both_sides_and_spares_the_middle():
    more = variances_um2("curl", 120.0) - sharp_um2()
    sides = more[:, [0, 2]] if more[:, 0].mean() > more[0].mean() else more[[0, 2]]
    assert sides.min() > 0.3 * 120.0**2 / 8
    assert abs(more[1, 1]) < 60


def test_sharpening_overshoots():
    flat = photograph(greys("dye_300"), CAMERA).linear
    sharp = photograph(greys("dye_300"), CAMERA, fault="sharpening", strength=1.5).linear
    assert sharp.max() > 1.02 * flat.max()


def test_compression_leaves_blocks():
    camera = Camera(pixels_per_mm=100.0)
    coded = photograph(greys("silver_400"), camera, fault="compression", strength=85).linear[..., 1]
    steps = np.abs(np.diff(coded, axis=1)).mean(axis=0)
    steps = steps[: steps.size // 8 * 8].reshape(-1, 8).mean(axis=0)
    assert steps[7] > 1.5 * steps[:7].mean()


def test_clipping_clips():
    shots = [
        photograph(greys("dye_300"), CAMERA, fault="clipping", strength=s).linear for s in (0, 1)
    ]
    assert (shots[0] >= 1).mean() == 0
    assert (shots[1] >= 1).mean() > 0.3


def _gaussian(sigma_mm):
    def render(raster, _seed):
        for channel in range(3):
            fine = raster[..., channel].repeat(4, axis=0).repeat(4, axis=1).astype(np.float32)
            yield cv2.GaussianBlur(fine, (0, 0), sigma_mm * 1200 * 4 / MM_PER_INCH)

    per_mm = 1200 * 4 / MM_PER_INCH
    return Printer("gaussian", Driver(1200, "area"), render, per_mm, (0.9, 0.9, 0.9), 0.0)


def test_the_truth_of_an_edge_is_that_of_a_known_blur():
    camera = Camera(pixels_per_mm=60.0)
    seen = true_edge(_gaussian(0.03), 1200, camera, strips=1)
    # the drawing is averaged over the pixels sent, and each is printed as a square of its size
    sent, box = 2 * (MM_PER_INCH / 1200) ** 2 / 12, (1 / 60.0) ** 2 / 12
    sigma = np.sqrt(0.03**2 + camera.lens_sigma_mm**2 + sent + box)
    assert seen.mtf50 == pytest.approx(0.18739 / sigma, rel=0.015)
    assert seen.mtf10 == pytest.approx(0.34154 / sigma, rel=0.03)


def test_the_truth_of_grain_is_that_of_white_noise():
    per_mm, deviation = 100.0, 0.05

    def render(raster, seed):
        size = [round(n / 600 * MM_PER_INCH * per_mm) for n in raster.shape[:2]]
        noise = np.random.default_rng(seed).normal(0, deviation, size)
        for channel in range(3):
            yield raster[0, 0, channel] + noise

    printer = Printer("white", Driver(600, "area"), render, per_mm, (0.8, 0.8, 0.8), 0.0)
    seen = true_grain(printer, 600, Camera(pixels_per_mm=60.0), reflectance=0.5, side_mm=20)
    frequency = np.arange(0.0, 12.0, 0.002)
    degree = frequency * VIEWING_MM * np.pi / 180
    eye = 5.05 * np.exp(-0.138 * degree) * (1 - np.exp(-0.1 * degree))
    weighed = (eye**2 * 2 * np.pi * frequency).sum() * 0.002 / per_mm**2
    expected = 116 / 3 * 0.5 ** (-2 / 3) * deviation * np.sqrt(weighed)
    assert seen.mean == pytest.approx(0.5, abs=0.005)
    assert seen.visual_graininess == pytest.approx(expected, rel=0.05)
