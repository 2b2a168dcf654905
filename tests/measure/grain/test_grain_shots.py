"""Two shots of one print: laid on each other, and the camera's noise left out."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import affine_transform

from dotloupe.errors import RegionError
from dotloupe.measure.grain.cautions import ShotTurned
from dotloupe.measure.grain.noise_spectrum import detrended
from dotloupe.measure.grain.shot_pair import pair_shots
from dotloupe.measure.grain.shot_shift import shift_between
from dotloupe.measure.grain.tint_grain import grain

PIXELS_PER_MM = 40.0
LEVEL = 1e-6


def print_field(side_px, seed, cutoff=8.0, level=LEVEL):
    """Gaussian field of spectrum level * exp(-(f/cutoff)^2), reflectance^2 mm^2."""
    rng = np.random.default_rng(seed)
    f = np.hypot(
        np.fft.fftfreq(side_px, 1 / PIXELS_PER_MM)[:, None],
        np.fft.rfftfreq(side_px, 1 / PIXELS_PER_MM)[None, :],
    )
    shape = np.sqrt(level) * np.exp(-((f / cutoff) ** 2) / 2) * PIXELS_PER_MM
    return np.fft.irfft2(np.fft.rfft2(rng.standard_normal(f.shape[:1] * 2)) * shape)


def with_camera(field, seed, power=LEVEL):
    """Reflectance 0.5 and white camera noise of a power."""
    noise = np.random.default_rng(seed).standard_normal(field.shape)
    return 0.5 + field + np.sqrt(power) * PIXELS_PER_MM * noise


def moved(field, x, y):
    """Move a periodic field by pixels, exactly."""
    fy, fx = np.fft.fftfreq(field.shape[0])[:, None], np.fft.rfftfreq(field.shape[1])[None, :]
    return np.fft.irfft2(np.fft.rfft2(field) * np.exp(-2j * np.pi * (fx * x + fy * y)))


@pytest.mark.parametrize("shift", [(0.3, -0.2), (-6.25, 3.5), (31.0, 12.4)])
def test_shift_between_shots_is_found(shift):
    whole = print_field(192, seed=1)
    first = with_camera(whole, 2, LEVEL / 10)[:160, :160]
    second = with_camera(moved(whole, *shift), 3, LEVEL / 10)[:160, :160]
    pair = pair_shots(first, second, PIXELS_PER_MM)
    # least possible error here is 0.02 px, as the pair says itself
    assert pair.error_px < 0.05
    assert pair.moved_px == pytest.approx(shift, abs=5 * pair.error_px)


def test_error_of_the_shift_is_what_it_says():
    whole = print_field(160, seed=4)
    other = moved(whole, 0.2, -0.1)
    errors, said = [], []
    for seed in range(40):
        found = shift_between(
            detrended(with_camera(whole, [seed, 1])), detrended(with_camera(other, [seed, 2]))
        )
        errors.append(np.subtract(found.shift_px, (0.2, -0.1)))
        said.append(found.error_px)
    # 80 errors: their scatter is known to 8 %; what is said is the worse of two directions, and
    # the draw towards what was expected narrows it: 30 %
    assert np.std(errors) == pytest.approx(np.mean(said), rel=0.3)


def test_turned_second_shot_is_laid_on_the_first():
    whole = print_field(400, seed=5)
    turn, scale = np.radians(0.2), 1.002
    matrix = scale * np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    centre = np.array([199.5, 199.5])
    turned = affine_transform(whole, matrix, centre - matrix @ centre, order=5, mode="mirror")
    first, second = (
        with_camera(f, s, LEVEL / 4)[40:360, 40:360] for f, s in ((whole, 6), (turned, 7))
    )
    truth = grain(0.5 + whole[40:360, 40:360], PIXELS_PER_MM)
    got = grain(first, PIXELS_PER_MM, second_shot=second)
    assert any(isinstance(caution, ShotTurned) for caution in got.cautions)
    # corners lay off by 0.9 px; 10,000 modes leave 1 %
    assert got.rms_granularity == pytest.approx(truth.rms_granularity, rel=0.02)


def test_camera_noise_of_five_times_the_print_power():
    # Variance of camera noise five times the print's. Spectrum of the print from 0.4 to 10
    # cycles/mm, mean of 20 seeds, against the mean of what the prints alone show; the octave bands
    # hold fewer values and are studied in the benchmark.
    side = 240
    band_sum = np.zeros(2)
    for seed in range(20):
        field = print_field(side, seed)
        power = 5 * field.var() / PIXELS_PER_MM**2
        shots = [with_camera(field, [seed, s], power) for s in (1, 2)]
        got = grain(shots[0], PIXELS_PER_MM, second_shot=shots[1])
        alone = grain(0.5 + field, PIXELS_PER_MM)
        band = (got.frequency >= 0.4) & (got.frequency <= 10)
        band_sum += [np.sum(r.frequency[band] * r.noise_power[band]) for r in (got, alone)]
    # 20 fields of 5,600 values with noise at 1.3 times the print's level: 0.7 %
    assert band_sum[0] / band_sum[1] == pytest.approx(1, abs=0.03)


def test_interval_holds_the_print_through_camera_noise():
    held = 0
    for seed in range(30):
        field = print_field(128, [seed, 9])
        shots = [with_camera(field, [seed, s], 2 * LEVEL) for s in (1, 2)]
        got = grain(shots[0], PIXELS_PER_MM, second_shot=shots[1])
        f = np.linspace(0, 20, 4001)
        passed = np.exp(-((f / 8) ** 2)) * np.sinc(0.0423 * f) ** 2 * (f >= 0.4)
        truth = 0.4343 / 0.5 * np.sqrt(LEVEL * np.trapezoid(2 * np.pi * f * passed, f))
        held += got.graininess_interval[0] <= truth <= got.graininess_interval[1]
    # 95 % of 30 is 28.5; four standard errors below lies 23.7
    assert held >= 24


def test_camera_banding_is_not_the_prints():
    field = print_field(320, seed=8)
    rows = 0.004 * np.sin(2 * np.pi * np.arange(320) / 23)[:, None]
    columns = 0.004 * np.sin(2 * np.pi * np.arange(320) / 37)[None, :]
    first = with_camera(field + columns + rows, 1, LEVEL / 10)
    second = with_camera(field + columns, 2, LEVEL / 10)
    alone = grain(first, PIXELS_PER_MM)
    both = grain(first, PIXELS_PER_MM, second_shot=second)
    assert {b.direction for b in alone.bands} == {"x", "y"}
    assert [b.direction for b in both.bands] == ["x"]
    assert both.bands[0].period_mm == pytest.approx(37 / PIXELS_PER_MM, rel=0.01)


def test_shots_that_do_not_match_are_refused():
    wide = 0.5 + print_field(160, seed=11)
    first = wide[:90, :90]
    darker = 0.4 + 0.8 * (first - 0.5)
    for second, reason in (
        (0.5 + print_field(90, seed=99), "nothing in common"),
        (darker, "20 % darker than the first"),
        (wide[:90, 44:134], "less than one 1.27 mm tile"),
    ):
        with pytest.raises(RegionError, match=reason):
            grain(first, PIXELS_PER_MM, second_shot=second)


def test_moved_beyond_overlap_is_refused():
    wide = 0.5 + print_field(400, seed=12)
    with pytest.raises(RegionError, match=r"nothing in common|1\.27 mm tile"):
        grain(wide[:160, :160], PIXELS_PER_MM, second_shot=wide[:160, 200:360])
