"""Where a curve crosses a level, between its samples.

To interpolate over the logarithm of the curve, pass the logarithms of curve and level; over that of
the position, ask for `geometric`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import BoolArray, FloatArray


def falls_below(
    position: FloatArray,
    curves: FloatArray,
    level: FloatArray | float,
    *,
    samples: int = 1,
    geometric: bool = False,
) -> FloatArray:
    """Position at which each curve first falls below a level.

    Parameters
    ----------
    position : ndarray, shape (m,)
        Where the curves were sampled.
    curves : ndarray, shape (..., m)
    level : float or ndarray, shape (...)
    samples : int
        How many samples on end have to lie below the level; fewer suffice at the end of a curve.
    geometric : bool
        Whether to interpolate over the logarithm of the position.

    Returns
    -------
    ndarray, shape (...)
        nan where a curve never falls below; the first position where it starts below.
    """
    below = curves < np.asarray(level)[..., None]
    for _ in range(samples - 1):
        below[..., :-1] &= below[..., 1:]
    first = np.asarray(np.argmax(below, axis=-1))
    before = np.maximum(first - 1, 0)
    place = crossing_between(position, curves, before, first, level, geometric=geometric)
    return np.where(below.any(axis=-1), place, np.nan)


def last_above(
    position: FloatArray, curve: FloatArray, level: float, *, geometric: bool = False
) -> float:
    """Position up to which a curve reaches a level, at its last sample that does.

    Parameters
    ----------
    position, curve : ndarray, shape (m,)
    level : float
    geometric : bool
        Whether to interpolate over the logarithm of the position.

    Returns
    -------
    float
        nan where the curve never reaches the level; the last position where it ends above.
    """
    above = np.flatnonzero(curve >= level)
    if not above.size:
        return float("nan")
    last = above[-1]
    after = np.minimum(last + 1, len(curve) - 1)
    return float(crossing_between(position, curve, last, after, level, geometric=geometric))


def reach(
    frequency: FloatArray,
    rows: FloatArray,
    allowed: BoolArray,
    threshold: float,
    ceiling: float,
) -> FloatArray:
    """Frequency up to which each row of values stays above a threshold without a break.

    Parameters
    ----------
    frequency : ndarray, shape (n,)
    rows : ndarray, shape (m, n)
    allowed : ndarray of bool, shape (n,)
        Frequencies that may count.
    threshold : float
    ceiling : float
        Above which no crossing is believed.

    Returns
    -------
    ndarray, shape (m,)
        Interpolated over the logarithm of the frequency; the last frequency that counts where
        nothing can be interpolated; 0 where the first does not count.
    """
    passes = (rows > threshold) & allowed
    passed = np.cumprod(passes, axis=1).sum(axis=1)
    last = np.maximum(passed - 1, 0)
    following = np.minimum(passed, len(frequency) - 1)
    crosses = (following > last) & (rows[np.arange(len(rows)), following] < threshold)
    crossing = crossing_between(frequency, rows, last, following, threshold, geometric=True)
    limit = np.where(crosses, crossing, frequency[last])
    return np.where(passed > 0, np.minimum(limit, np.maximum(ceiling, frequency[last])), 0.0)


def crossing_between(
    position: FloatArray,
    curves: FloatArray,
    before: NDArray[np.intp],
    after: NDArray[np.intp],
    level: FloatArray | float,
    *,
    geometric: bool = False,
) -> FloatArray:
    """Position at which each curve crosses a level between two of its samples.

    Parameters
    ----------
    position : ndarray, shape (m,)
    curves : ndarray, shape (..., m)
    before, after : ndarray of int, shape (...), or broadcast over more axes before it
        The samples on either side; where they are one, its position is returned.
    level : float or ndarray, shape (...)
    geometric : bool
        Whether to interpolate over the logarithm of the position.

    Returns
    -------
    ndarray, shape (...)
    """
    one, other = _at(curves, before), _at(curves, after)
    fall = one - other
    share = np.minimum(np.maximum((one - level) / np.where(fall == 0, 1.0, fall), 0.0), 1.0)
    share = np.where(np.equal(before, after), 0.0, share)
    start, end = position[before], position[after]
    return np.asarray(
        start * (end / start) ** share if geometric else start + share * (end - start)
    )


def _at(curves: FloatArray, sample: NDArray[np.intp]) -> FloatArray:
    """One sample of each curve: `np.take_along_axis` in a third of the time."""
    if curves.ndim == 1:
        return np.asarray(curves[sample])
    first = np.arange(0, curves.size, curves.shape[-1]).reshape(curves.shape[:-1])
    return np.asarray(curves.take(first + sample))
