"""Sharpening by the noise of paper and steps between blocks, against closed forms."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.fitness.processing import NOISE_RISE, block_step, noise_rise


def test_white_noise_does_not_rise():
    rises = [
        noise_rise(np.random.default_rng(seed).normal(1, 0.01, (150, 150))) for seed in range(40)
    ]
    assert max(rises) < NOISE_RISE.warning


@pytest.mark.parametrize(("radius", "amount"), [(1.0, 1.5), (2.0, 1.0)])
def test_sharpened_noise_rises_by_the_filter(radius, amount):
    """Gain of an unsharp mask, 1 + a (1 - exp(-2 pi^2 r^2 f^2)), squared (closed form)."""
    noise = np.random.default_rng(1).normal(0, 0.01, (500, 500))
    sharpened = noise + amount * (noise - gaussian_filter(noise, radius, mode="wrap"))

    def gain(frequency):
        return 1 + amount * (1 - np.exp(-2 * (np.pi * radius * frequency) ** 2))

    expected = max(
        (gain(0.165) / gain(0.08)) ** 2,
        (gain(0.21) / gain(0.105)) ** 2,
    )
    assert noise_rise(1 + sharpened) == pytest.approx(expected, rel=0.12)


def test_blocks_are_seen_and_nothing_else():
    rng = np.random.default_rng(0)
    plain = rng.normal(1, 0.01, (160, 160))
    assert block_step(plain) < 1.15
    stepped = plain + np.kron(rng.normal(0, 0.03, (20, 20)), np.ones((8, 8)))
    assert block_step(stepped) > 2
    assert block_step(np.roll(stepped, 3, axis=1)) > 2
    assert block_step(np.ones((64, 64))) == 1
