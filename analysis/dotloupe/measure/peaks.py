"""Peaks that stand out of a curve."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray


def prominent_peaks(values: FloatArray, prominence: float) -> NDArray[np.intp]:
    """Places of the maxima that stand out by at least a prominence.

    The prominence of a maximum is its height over the higher of the two lowest points on the ways
    to something higher, or to the end, on either side. A level top counts once, at its middle.

    Parameters
    ----------
    values : ndarray of shape (n,)
    prominence : float

    Returns
    -------
    ndarray of int, ascending
    """
    changes = np.flatnonzero(np.diff(values))
    first, last = np.append(0, changes + 1), np.append(changes, len(values) - 1)
    level = values[first]
    tops = 1 + np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] > level[2:]))
    places = (first[tops] + last[tops]) // 2
    return np.array([p for p in places if _prominence(values, int(p)) >= prominence], np.intp)


def _prominence(values: FloatArray, place: int) -> float:
    height = values[place]
    sides = (values[place::-1], values[place:])
    lowest = []
    for side in sides:
        higher = np.flatnonzero(side > height)
        lowest.append(side[: higher[0] if len(higher) else None].min())
    return float(height - max(lowest))
