"""Dispersed dots: a threshold mask with blue noise, made by the void-and-cluster method."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray

MASK_SHAPE = (128, 256)
"""Rows and columns of the mask; on the 1440 x 2880 lattice it repeats every 2.26 mm."""

_MASK_SEED = 20
_INITIAL_SHARE = 0.1
_SPREAD_ROWS = 1.9


@lru_cache(maxsize=4)
def threshold_mask(pitch_ratio: float = 2.0) -> FloatArray:
    """Thresholds in (0, 1), each of equally many values, float32 of `MASK_SHAPE`.

    The void-and-cluster method of R. Ulichney (1993, "The void-and-cluster method for dither
    array generation", Proc. SPIE 1913), on a torus, with the distances of a lattice whose rows
    lie `pitch_ratio` times as far apart as its columns.
    """
    sigma = (_SPREAD_ROWS, _SPREAD_ROWS * pitch_ratio)
    impulse = np.zeros(MASK_SHAPE)
    impulse[0, 0] = 1.0
    bump = gaussian_filter(impulse, sigma, mode="wrap").astype(np.float32)
    bumps = np.tile(bump, (2, 2))

    start = np.random.default_rng(_MASK_SEED).permutation(impulse.size)
    count = int(_INITIAL_SHARE * impulse.size)
    pattern = _spread_evenly(start[:count], bumps)
    rank = np.empty(impulse.size, dtype=np.int64)
    _rank_down(pattern, bumps, rank)
    _rank_up(pattern, bumps, rank)
    return ((rank.reshape(MASK_SHAPE) + 0.5) / impulse.size).astype(np.float32)


def _bump_at(bumps: FloatArray, place: int) -> FloatArray:
    rows, cols = MASK_SHAPE
    row, col = divmod(int(place), cols)
    return bumps[rows - row : 2 * rows - row, cols - col : 2 * cols - col]


def _energy(pattern: NDArray[np.bool_], bumps: FloatArray) -> FloatArray:
    bump = bumps[: MASK_SHAPE[0], : MASK_SHAPE[1]]
    product = np.fft.rfft2(pattern.reshape(MASK_SHAPE)) * np.fft.rfft2(bump)
    return np.fft.irfft2(product, MASK_SHAPE).astype(np.float32)


def _spread_evenly(places: NDArray[np.int64], bumps: FloatArray) -> NDArray[np.bool_]:
    """Move dots from the tightest cluster to the largest void until that changes nothing."""
    pattern = np.zeros(MASK_SHAPE[0] * MASK_SHAPE[1], dtype=bool)
    pattern[places] = True
    energy = _energy(pattern, bumps)
    for _ in range(pattern.size):
        cluster = int(np.argmax(np.where(pattern, energy.ravel(), -np.inf)))
        pattern[cluster] = False
        energy -= _bump_at(bumps, cluster)
        void = int(np.argmin(np.where(pattern, np.inf, energy.ravel())))
        pattern[void] = True
        energy += _bump_at(bumps, void)
        if void == cluster:
            break
    return pattern


def _rank_down(pattern: NDArray[np.bool_], bumps: FloatArray, rank: NDArray[np.int64]) -> None:
    """Take dots away from the tightest cluster, the last rank first."""
    masked = np.where(pattern.reshape(MASK_SHAPE), _energy(pattern, bumps), -np.inf)
    masked = masked.astype(np.float32)
    for left in range(int(pattern.sum()) - 1, -1, -1):
        cluster = int(np.argmax(masked))
        rank[cluster] = left
        masked -= _bump_at(bumps, cluster)
        masked.ravel()[cluster] = -np.inf


def _rank_up(pattern: NDArray[np.bool_], bumps: FloatArray, rank: NDArray[np.int64]) -> None:
    """Put dots into the largest void, rank by rank, until every place is ranked."""
    masked = np.where(pattern.reshape(MASK_SHAPE), np.inf, _energy(pattern, bumps))
    masked = masked.astype(np.float32)
    for level in range(int(pattern.sum()), pattern.size):
        void = int(np.argmin(masked))
        rank[void] = level
        masked += _bump_at(bumps, void)
        masked.ravel()[void] = np.inf


def halftone(coverage: FloatArray, mask: FloatArray, phase: tuple[int, int]) -> NDArray[np.bool_]:
    """Places that get a dot: where `coverage` (0 to 1, one value a place) exceeds the mask.

    `phase` (row, column) is the place of the mask under the first place of `coverage`.
    """
    rows, cols = coverage.shape
    row = np.take(mask, np.arange(phase[0], phase[0] + rows), axis=0, mode="wrap")
    tiled = np.take(row, np.arange(phase[1], phase[1] + cols), axis=1, mode="wrap")
    return np.asarray(coverage > tiled)
