"""Intervals by leaving out one block of rows at a time: grain is coloured and tied to tone.

The jackknife over blocks (Quenouille, Tukey; from memory) asks nothing about the grain but that
blocks be longer than it reaches.
"""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.measure.uncertainty import Uncertainty

FEWEST_BLOCKS, MOST_BLOCKS = 8, 24
REACHES_A_BLOCK = 6.0


def in_blocks(by_row: FloatArray, probe: FloatArray) -> FloatArray:
    """Means over blocks of rows, long enough for one to know next to nothing of the next.

    Parameters
    ----------
    by_row : ndarray of shape (rows, ...)
        What was read in each row.
    probe : ndarray of shape (rows,)
        The reading whose correlation from row to row sets the length of the blocks.

    Returns
    -------
    ndarray of shape (blocks, ...)
    """
    rows = len(by_row)
    wanted = rows // max(REACHES_A_BLOCK * correlated_rows(probe), 2.0)
    blocks = min(max(int(min(wanted, MOST_BLOCKS)), FEWEST_BLOCKS), rows)
    return mean_of_blocks(by_row, block_lengths(rows, blocks))


def block_lengths(rows: int, blocks: int) -> NDArray[np.intp]:
    """Lengths of blocks of rows that are as long as each other, or a row longer for the first."""
    shorter, longer = divmod(rows, blocks)
    return np.where(np.arange(blocks) < longer, shorter + 1, shorter)


def mean_of_blocks(by_row: FloatArray, lengths: NDArray[np.intp]) -> FloatArray:
    """Means over blocks of rows, one after the other, shape (blocks, ...)."""
    sums = np.add.reduceat(by_row, np.cumsum(lengths) - lengths, axis=0)
    return np.asarray((sums.T / lengths).T)


def correlated_rows(probe: FloatArray) -> float:
    """Number of rows that count as one: the sum of the autocorrelation up to where it dies."""
    rows = len(probe)
    length = scipy.fft.next_fast_len(2 * rows)
    power = np.abs(np.fft.fft(probe - probe.mean(), length)) ** 2
    correlation = np.fft.ifft(power).real[: max(rows // 2, 1)]
    if correlation[0] <= 0:
        return 1.0
    correlation = correlation / correlation[0]
    dead = np.flatnonzero(correlation <= 0.05)
    last = int(dead[0]) if len(dead) else len(correlation)
    return float(1.0 + 2.0 * correlation[1:last].sum())


def left_out(blocks: FloatArray) -> FloatArray:
    """Means of all blocks but one, for each block."""
    count = len(blocks)
    return np.asarray((blocks.sum(axis=0) - blocks) / (count - 1))


def jackknife(left_out_values: FloatArray) -> Uncertainty:
    """Uncertainty of a value, from what it is with each block left out, shape (blocks,)."""
    count = len(left_out_values)
    spread = np.sum((left_out_values - left_out_values.mean()) ** 2)
    return Uncertainty(float(np.sqrt((count - 1) / count * spread)), count - 1)
