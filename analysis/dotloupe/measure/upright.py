"""The profile across something that leans: every row moved until it stands upright."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray


def upright_profiles(
    region: FloatArray, slope: float, middle: float, rows: slice, blocks: int = 1
) -> tuple[FloatArray, FloatArray]:
    """Mean profiles over blocks of rows, each row moved along the lean, in steps of a pixel.

    Parameters
    ----------
    region : ndarray of shape (h, w)
    slope : float
        Columns per row.
    middle : float
        Row that is not moved.
    rows : slice
        Rows to take.
    blocks : int
        Number of blocks of rows.

    Returns
    -------
    position : ndarray of shape (n,)
        Columns at the row `middle` that all blocks hold.
    profiles : ndarray of shape (blocks, n)
    """
    part = region[rows]
    height, width = part.shape
    y = np.arange(rows.start, rows.stop)
    moved = np.rint(-slope * (y - middle)).astype(np.intp)
    beyond_left, beyond_right = max(-moved.min(), 0), max(moved.max(), 0)
    cells = beyond_left + width + beyond_right
    block = np.arange(height) * blocks // height
    flat = ((moved + beyond_left + cells * block)[:, None] + np.arange(width)).ravel()
    region_cells = slice(beyond_left, beyond_left + width)

    def summed(weights: FloatArray | None) -> FloatArray:
        sums = np.bincount(flat, weights, blocks * cells).reshape(blocks, cells)
        return np.asarray(sums[:, region_cells], dtype=float)

    count = summed(None)
    held = (count > 0.5 * height / blocks).all(axis=0)
    position = np.flatnonzero(held).astype(float)
    return position, summed(part.ravel())[:, held] / count[:, held]
