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
    changes = np.flatnonzero(values[1:] != values[:-1])
    if len(changes) < 2:
        return np.empty(0, np.intp)
    level = values[changes[:-1] + 1]
    top = (level > values[changes[:-1]]) & (level > values[changes[1:] + 1])
    top &= level - values.min() >= prominence
    places = (changes[:-1][top] + 1 + changes[1:][top]) // 2
    return np.array([p for p in places if _prominence(values, int(p)) >= prominence], np.intp)


def _prominence(values: FloatArray, place: int) -> float:
    height = values[place]
    sides = (values[place::-1], values[place:])
    lowest = []
    for side in sides:
        higher = side > height
        end = int(higher.argmax())
        lowest.append(side[: end if higher[end] else None].min())
    return float(height - max(lowest))
