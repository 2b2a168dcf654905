"""A camera's contrast curve found from two exposures, and taken out."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from dotloupe.capture.exif import CameraSettings
from dotloupe.capture.exposure_pair import (
    exposure_ratio,
    load_exposure_pair,
    tone_by_ranks,
    with_exposure_pair,
)
from dotloupe.capture.file_cautions import CameraToneCurve, ToneByExposures
from dotloupe.capture.loading import capture_paths, half_of, load_capture
from dotloupe.errors import InputError
from dotloupe.session import RunOptions, measure_file, with_exposures
from dotloupe.session.measuring import read_capture

from .test_camera_tone_curve import coded, light, lightness

TINTS = (1.0, 0.8, 0.6, 0.4, 0.25, 0.1, 0.04)
TIME, MODEL, EXIF_IFD = 0x829A, 0x0110, 0x8769


def contrast_curve(code, steepened):
    """The S of a picture style, as in the test of its caution."""
    return (1 - steepened) * code + steepened * (3 * code**2 - 2 * code**3)


def patch_like(seed=0):
    """Tints side by side with grain four pixels wide, a third of it paper."""
    rng = np.random.default_rng(seed)
    tones = np.concatenate([np.full(120, 1.0), np.repeat(TINTS, 40)])
    plain = np.repeat(tones[None, :], 300, axis=0)
    grainy = np.clip(plain * (1 + 0.06 * rng.standard_normal(plain.shape)), 0.01, None)
    return np.kron(grainy, np.ones((4, 4)))


def write_jpeg(path, reflectance, exposure, *, steepened=0.7, seconds=None, seed=1):
    rng = np.random.default_rng(seed)
    seen = reflectance * exposure
    seen = np.clip(seen + 0.002 * rng.standard_normal(seen.shape), 0, 1)
    code = contrast_curve(coded(seen), steepened)
    exif = Image.Exif()
    exif[MODEL] = "A 1"
    if seconds:
        exif[EXIF_IFD] = {TIME: IFDRational(1, round(1 / seconds))}
    pixels = np.repeat(np.round(255 * np.clip(code, 0, 1)).astype(np.uint8)[..., None], 3, axis=2)
    Image.fromarray(pixels).save(path, quality=97, subsampling=0, exif=exif)
    return path


@pytest.fixture(scope="module")
def two_exposures(tmp_path_factory):
    folder = tmp_path_factory.mktemp("exposures")
    print_ = patch_like()
    bright = write_jpeg(folder / "print1.jpg", print_, 0.8)
    dark = write_jpeg(folder / "print1_half.jpg", print_, 0.4, seed=2)
    return bright, dark


def swing(curve_of):
    """Change of CIE 1976 lightness with a small change of each tint."""
    step, tints = 1e-3, np.array(TINTS[1:6])
    return lightness(curve_of(tints * (1 + step))) - lightness(curve_of(tints * (1 - step)))


@pytest.mark.parametrize(("steepened", "paper"), [(0.7, 0.8), (0.4, 0.65), (1.0, 0.9)])
def test_visible_grain_of_tints_comes_out_true(tmp_path, steepened, paper):
    """By an S that lifts it by 14 %, in dark tones by 30 %: under 2 and 4 % are left.

    The bounds are what 8-bit values and fourteen splines leave; the closed form is the S itself.
    """
    print_ = patch_like()
    bright = write_jpeg(tmp_path / "a.jpg", print_, paper, steepened=steepened)
    dark = write_jpeg(tmp_path / "a_half.jpg", print_, paper / 2, steepened=steepened, seed=2)
    pair = load_exposure_pair(bright, dark)

    def freed(reflectance):
        seen = light(contrast_curve(coded(reflectance * paper), steepened))
        return seen * np.interp(seen, pair.light, pair.factor)

    white = freed(np.array(1.0))
    lifted = 100 * (swing(lambda r: freed(r) / white) / swing(np.asarray) - 1)
    assert abs(lifted.mean()) < 2
    assert abs(lifted).max() < 4
    assert pair.misfit < 0.01


def test_a_captures_tones_come_out_true_and_its_caution_says_so(two_exposures):
    bright, dark = two_exposures
    capture = load_capture(bright)
    freed = with_exposure_pair(capture, load_exposure_pair(bright, dark))
    means = [
        freed.reflectance[:, 4 * (125 + 40 * n) : 4 * (155 + 40 * n), 1].mean()
        for n in range(len(TINTS))
    ]
    before = capture.reflectance[:, 4 * (125 + 40 * 4) : 4 * (155 + 40 * 4), 1].mean()
    assert means / means[0] == pytest.approx(np.array(TINTS), rel=0.03, abs=0.004)
    assert abs(before - TINTS[4]) > 0.03
    assert any(isinstance(c, CameraToneCurve) for c in capture.warnings)
    assert not any(isinstance(c, CameraToneCurve) for c in freed.warnings)
    assert any(isinstance(c, ToneByExposures) for c in freed.warnings)


def test_a_true_curve_is_left_as_it_is(tmp_path):
    print_ = patch_like()
    bright = write_jpeg(tmp_path / "a.jpg", print_, 0.8, steepened=0.0)
    dark = write_jpeg(tmp_path / "a_half.jpg", print_, 0.4, steepened=0.0, seed=2)
    pair = load_exposure_pair(bright, dark)
    within = pair.light > 0.03
    relative = pair.factor[within] / pair.factor[-1]
    assert relative == pytest.approx(np.ones(within.sum()), abs=0.02)


def test_raw_files_are_left_as_they_are(two_exposures):
    pair = load_exposure_pair(*two_exposures)
    raw = replace(load_capture(two_exposures[0]), from_raw=True)
    assert with_exposure_pair(raw, pair) is raw


def test_the_darker_of_a_pair_is_no_print_of_its_own(two_exposures):
    bright, dark = two_exposures
    assert capture_paths(bright.parent) == [bright]
    assert half_of(bright) == dark
    assert half_of(dark) is None


@pytest.mark.parametrize(
    ("times", "ratio"),
    [((1 / 60, 1 / 125), 2.0), ((1 / 30, 1 / 125), 4.0), ((None, 1 / 60), 2.0), ((0.5, 0.4), 1.26)],
)
def test_marked_times_are_taken_in_thirds_of_a_stop(two_exposures, times, ratio):
    """1/60 and 1/125 s are marked for 1/64 and 1/128 (common practice, no source)."""
    capture = load_capture(two_exposures[0])
    both = [replace(capture, settings=CameraSettings(exposure_s=t)) for t in times]
    assert exposure_ratio(*both) == pytest.approx(ratio, rel=0.005)


def test_other_prints_and_equal_exposures_are_refused(tmp_path):
    print_ = patch_like()
    bright = write_jpeg(tmp_path / "a.jpg", print_, 0.8, seconds=0.02)
    other = write_jpeg(tmp_path / "b.jpg", print_[:, ::-1], 0.4, seed=2)
    equal = write_jpeg(tmp_path / "c.jpg", print_, 0.8, seconds=0.02)
    small = write_jpeg(tmp_path / "d.jpg", print_[::2], 0.4)
    same = write_jpeg(tmp_path / "e.jpg", print_, 0.8)
    for dark, said in (
        (other, "what a.jpg shows"),
        (equal, "half as long"),
        (small, "as large"),
        (same, "ratio"),
    ):
        with pytest.raises(InputError, match=said):
            load_exposure_pair(bright, dark)


def test_a_run_finds_the_pair_among_its_files(two_exposures):
    bright, dark = two_exposures
    options = with_exposures([bright.with_name("zzz.jpg"), bright], RunOptions())
    assert options.exposures.sha256 == load_capture(bright).sha256
    assert options.exposures.half_sha256 in options.references
    assert any(isinstance(c, ToneByExposures) for c in read_capture(bright, options).warnings)
    (one,) = measure_file(bright, options)
    assert one.parameters.exposures_file.sha256 == options.exposures.sha256
    assert with_exposures([dark], RunOptions()).exposures is None


def test_ranks_alone_give_a_power_law():
    """Light to the power of 0.8 is undone, up to a scale (closed form)."""
    rng = np.random.default_rng(3)
    true = rng.uniform(0.02, 1.0, 200_000)
    shown, factor, misfit = tone_by_ranks((0.9 * true) ** 0.8, (0.45 * true) ** 0.8, 2.0)
    within = (shown > 0.05) & (shown < 0.9)
    undone = shown * factor
    slope = np.polyfit(np.log(shown[within]), np.log(undone[within]), 1)[0]
    assert slope == pytest.approx(1 / 0.8, rel=0.01)
    assert misfit < 0.005
