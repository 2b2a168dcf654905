"""Noise power of tints, against white noise."""

import numpy as np
import pytest

from dotloupe.fitness.tint_spectra import grain_spectra

from .views import PER_MM, view_of


def test_grain_of_white_noise_is_flat_and_known(drawn):
    """Power of white noise: variance times the area of a pixel (closed form)."""
    rng = np.random.default_rng(2)
    light = np.full(drawn.shape, 0.5) * (1 + rng.normal(0, 0.05, drawn.shape))
    spectra = grain_spectra(view_of(light))
    for tile in spectra.tiles:
        assert tile.level == pytest.approx(0.5, rel=0.01)
    power = np.array([tile.power for tile in spectra.tiles]) * PER_MM**2 / 0.05**2
    # 7 tints of some 1500 independent frequencies each: 1 % in all, 10 % in the smallest ring.
    assert power.mean() == pytest.approx(1, rel=0.03)
    assert power.mean(axis=(0, 1)) == pytest.approx(1, rel=0.3)
    assert spectra.frequency[0] == 3.5
    assert spectra.frequency[-1] == 20.5
