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
    cell = np.rint(np.arange(width) - (slope * (y - middle))[:, None]).astype(np.intp)
    block = np.arange(height) * blocks // height
    keep = ((cell >= 0) & (cell < width)).ravel()
    flat = (cell + width * block[:, None]).ravel()[keep]
    count = np.bincount(flat, minlength=blocks * width).reshape(blocks, width)
    total = np.bincount(flat, weights=part.ravel()[keep], minlength=blocks * width)
    held = (count > 0.5 * height / blocks).all(axis=0)
    position = np.flatnonzero(held).astype(float)
    return position, (total.reshape(blocks, width)[:, held] / count[:, held])
