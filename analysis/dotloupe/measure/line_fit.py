"""The straight line through points, by least squares."""

from __future__ import annotations

from typing import Any

import numpy as np

from dotloupe.arrays import FloatArray


def straight_line(x: FloatArray, y: FloatArray) -> tuple[Any, Any]:
    """Slope and value at x = 0 of the line that fits best.

    Parameters
    ----------
    x : ndarray, shape (n,)
    y : ndarray, shape (n,) or (n, k)

    Returns
    -------
    slope, level : float, or ndarray of shape (k,)
    """
    middle = x.mean()
    apart = x - middle
    slope = apart @ y / (apart @ apart)
    return slope, np.add.reduce(y) / len(y) - slope * middle
