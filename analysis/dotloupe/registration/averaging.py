"""Average a finely sampled part of a capture to a sampling that still carries the print.

Detail of a print ends near 25 cycles/mm. A camera that samples it more finely costs time and adds
nothing, so whole blocks of pixels are averaged; what that takes from the print's own frequencies
is put back by a short filter, so that the transfer of the result is the capture's own.
"""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.registration.working_resolution import block_mean

LEAST_PER_MM = 64.0
"""Averaged regions keep at least this sampling: twice the finest grain seen in sharp captures."""
REACH = 4
"""Averaged pixels beside the one restored; blocks of a rim this wide must be at hand."""
FLAT_TO = 0.35
"""Cycles per averaged pixel up to which the transfer is restored, to 0.07 %."""


def averaging_step(pixels_per_mm: float, least_per_mm: float = LEAST_PER_MM) -> int:
    """Pixels along the side of the blocks that a capture of this sampling is averaged over."""
    return max(1, int(pixels_per_mm / least_per_mm))


def averaged(light: FloatArray, step: int) -> FloatArray:
    """Means over blocks of step x step pixels, their transfer restored.

    Parameters
    ----------
    light : ndarray of shape (rows, columns, channels), float32
        Whole blocks.
    step : int

    Returns
    -------
    ndarray of shape (rows / step, columns / step, channels), float32
        `REACH` pixels along its borders are right to about 1 % only.
    """
    blocks = block_mean(light, step)
    taps = _restoring_taps(step)
    return np.asarray(cv2.sepFilter2D(blocks, -1, taps, taps, borderType=cv2.BORDER_REFLECT))


@lru_cache(maxsize=32)
def _restoring_taps(step: int) -> FloatArray:
    """Symmetric filter of 2 * REACH + 1 taps that undoes the mean of `step` samples.

    Least squares over 0 to `FLAT_TO` on the product of its transfer with the mean's own,
    sin(pi f) / (step sin(pi f / step)) at f cycles per block (derived).
    """
    angle = np.linspace(1e-6, 2 * np.pi * FLAT_TO, 2000)
    mean = np.sin(angle / 2) / (step * np.sin(angle / (2 * step)))
    waves = 2 * (np.cos(np.outer(angle, np.arange(1, REACH + 1))) - 1)
    side = np.linalg.lstsq(waves * mean[:, None], 1 - mean, rcond=None)[0]
    return np.concatenate([side[::-1], [1 - 2 * side.sum()], side])
