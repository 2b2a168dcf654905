"""The threshold mask: fair, and blue."""

import numpy as np
import pytest

from dotloupe.simulate.halftone import MASK_SHAPE, halftone, threshold_mask


def test_every_threshold_once() -> None:
    mask = np.sort(threshold_mask(2.0).ravel().astype(float))
    expected = (np.arange(mask.size) + 0.5) / mask.size
    assert mask == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("coverage", [0.02, 0.1, 0.35])
def test_little_noise_at_low_frequencies(coverage: float) -> None:
    dots = halftone(np.full(MASK_SHAPE, coverage, dtype=np.float32), threshold_mask(2.0), (0, 0))
    assert dots.mean() == pytest.approx(coverage, abs=1.0 / dots.size)
    power = np.abs(np.fft.fft2(dots - dots.mean())) ** 2 / dots.size
    fy = np.fft.fftfreq(MASK_SHAPE[0], 2.0)[:, None]
    fx = np.fft.fftfreq(MASK_SHAPE[1], 1.0)[None, :]
    radial = np.hypot(fx, fy)
    # Dots strewn at random have coverage * (1 - coverage) at all frequencies (closed form).
    chance = coverage * (1.0 - coverage)
    # Below 0.4 of the dots' own mean frequency, and below 9 cycles/mm where pictures live.
    low = power[(radial > 0) & (radial < min(0.4 * np.sqrt(coverage / 2.0), 0.08))].mean()
    assert low < 0.15 * chance
    assert power[radial > 0].mean() == pytest.approx(chance, rel=0.02)


def test_mask_repeats_with_its_phase() -> None:
    coverage = np.full((300, 600), 0.3, dtype=np.float32)
    mask = threshold_mask(2.0)
    moved = halftone(coverage, mask, (5, 9))
    assert np.array_equal(moved[:200, :500], halftone(coverage, mask, (0, 0))[5:205, 9:509])
