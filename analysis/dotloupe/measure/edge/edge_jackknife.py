"""Intervals of an edge's numbers, by leaving out blocks along the edge."""

from __future__ import annotations

from functools import cache

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.uncertainty import student_quantile

BLOCKS = 24
"""Blocks along the edge that are left out in turn."""
COSINES = 8
"""Cosines along the edge that carry the variance; the degrees of freedom of an interval."""


def damped(normal: FloatArray) -> FloatArray:
    """The matrix with a ridge far below what the data weigh, so that it can be inverted."""
    ridged = normal.copy()
    diagonal = np.einsum("...ii->...i", ridged)
    diagonal += 1e-10 * diagonal.mean(axis=-1, keepdims=True) + 1e-10 * diagonal
    return ridged


def left_out(normal: FloatArray, score: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Solve a least-squares problem whole and without each of its blocks in turn.

    Grain is correlated from row to row and goes with tone, so a formula for white noise would
    claim too much; whole blocks of rows are left out instead.

    Parameters
    ----------
    normal : ndarray, shape (blocks, p, p)
    score : ndarray, shape (blocks, p)

    Returns
    -------
    whole : ndarray, shape (p,)
    without : ndarray, shape (blocks, p)
    """
    whole_normal, whole_score = normal.sum(axis=0), score.sum(axis=0)
    whole = np.linalg.solve(damped(whole_normal), whole_score)
    rest = damped(whole_normal[None] - normal)
    without = np.linalg.solve(rest, (whole_score[None] - score)[:, :, None])[:, :, 0]
    return whole, without


def standard_error(without: FloatArray) -> FloatArray:
    """Standard error over the first axis, from results without each block in turn.

    What leaving out a block changes is that block's influence. The variance of their mean is
    read from the slowest cosines of the influences along the edge, where noise that reaches
    over several blocks shows in full; plain squares would take neighbours for independent.
    (Estimator of a long-run variance by orthonormal series: Phillips 2005, Sun 2013, from
    memory.)
    """
    blocks = without.shape[0]
    influence = (without.mean(axis=0) - without).reshape(blocks, -1)
    slow = _slow_cosines(blocks) @ influence
    variance = (blocks - 1) * (slow**2).mean(axis=0)
    return np.asarray(np.sqrt(variance)).reshape(without.shape[1:])


@cache
def _slow_cosines(blocks: int) -> FloatArray:
    """Slowest cosines along the edge, orthonormal: (cosines, blocks)."""
    turns = np.arange(1, COSINES + 1)[:, None] * (np.arange(blocks)[None, :] + 0.5) / blocks
    return np.asarray(np.sqrt(2.0 / blocks) * np.cos(np.pi * turns))


def pooled_error(without: FloatArray) -> FloatArray:
    """Standard errors whose reach over the blocks is judged from all results together.

    Steadier than `standard_error` for many results of one edge, held against one another.
    """
    blocks = without.shape[0]
    plain = (blocks - 1) / blocks * ((without - without.mean(axis=0)) ** 2).sum(axis=0)
    reach = (standard_error(without) ** 2).mean() / max(float(plain.mean()), 1e-300)
    return np.asarray(np.sqrt(plain * reach))


def student(tail: float = 0.025) -> float:
    """Student's factor that belongs to `standard_error`."""
    return float(student_quantile(COSINES, tail))


def ratio_interval(value: float, without: FloatArray) -> Interval:
    """95 % interval of a positive number, symmetric in its logarithm."""
    if not np.isfinite(value) or value <= 0 or not np.all(without > 0):
        return (float("nan"), float("nan"))
    wide = student() * float(standard_error(np.log(without)))
    return (value * float(np.exp(-wide)), value * float(np.exp(wide)))


def plain_interval(value: float, without: FloatArray) -> Interval:
    """95 % interval of a number that may have either sign."""
    wide = student() * float(standard_error(without))
    return (value - wide, value + wide)
