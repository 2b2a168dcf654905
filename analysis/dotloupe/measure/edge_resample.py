"""Intervals of an edge's numbers, by leaving out blocks along the edge."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from dotloupe.arrays import FloatArray, Interval


def damped(normal: FloatArray) -> FloatArray:
    """The matrix with a ridge far below what the data weigh, so that it can be inverted."""
    diagonal = np.diagonal(normal, axis1=-2, axis2=-1)
    size = normal.shape[-1]
    ridge = 1e-10 * diagonal.mean(axis=-1)[..., None] + 1e-10 * diagonal
    return np.asarray(normal + ridge[..., None] * np.eye(size))


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


def standard_error(replicates: FloatArray) -> FloatArray:
    """Jackknife standard error over the first axis."""
    blocks = replicates.shape[0]
    spread = replicates - replicates.mean(axis=0)
    return np.asarray(np.sqrt((blocks - 1) / blocks * (spread**2).sum(axis=0)))


def student(blocks: int, tail: float = 0.025) -> float:
    """Student's factor for an interval from so many blocks."""
    return float(stdtrit(blocks - 1, 1.0 - tail))


def ratio_interval(value: float, replicates: FloatArray) -> Interval:
    """95 % interval of a positive number, symmetric in its logarithm."""
    if not np.isfinite(value) or value <= 0 or not np.all(replicates > 0):
        return (float("nan"), float("nan"))
    wide = student(len(replicates)) * float(standard_error(np.log(replicates)))
    return (value * float(np.exp(-wide)), value * float(np.exp(wide)))


def plain_interval(value: float, replicates: FloatArray) -> Interval:
    """95 % interval of a number that may have either sign."""
    wide = student(len(replicates)) * float(standard_error(replicates))
    return (value - wide, value + wide)
