"""The camera's blur and its own bands taken out of grain."""

import numpy as np
import pytest

from dotloupe.measure.camera_mtf import CameraCurve, camera_curve
from dotloupe.measure.grain.banding import find_banding, in_second_shot
from dotloupe.measure.grain.camera_blur import bands_without_blur, without_blur
from dotloupe.measure.grain.noise_spectrum import detrended, noise_spectrum

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
