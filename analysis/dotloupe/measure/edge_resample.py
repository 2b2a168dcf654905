"""Intervals of an edge's numbers, by resampling blocks along the edge."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.edge_fit import EdgeFit, damped


def leave_one_block_out(fit: EdgeFit) -> tuple[FloatArray, FloatArray]:
    """Spline levels and curve coefficients of the fit without each of its blocks in turn.

    Grain is correlated from row to row and goes with tone, so a formula for white noise would
    claim too much; whole blocks of rows are left out instead.

    Returns
    -------
    levels : ndarray, shape (blocks, n)
    coefficients : ndarray, shape (blocks, order + 1)
    """
    normal = damped(fit.normal.sum(axis=0)[None] - fit.normal)
    score = fit.score.sum(axis=0)[None] - fit.score
    change = np.linalg.solve(normal, score[:, :, None])[:, :, 0]
    size = fit.spread.levels.size
    coefficients = np.repeat(fit.curve.coefficients[None, :], len(change), axis=0)
    coefficients[:, 1:] += change[:, size:]
    return fit.spread.levels + change[:, :size], coefficients


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
