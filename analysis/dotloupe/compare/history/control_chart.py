"""Control limits of single values, and tests for a step and for a drift."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import stdtr, stdtrit

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray

THREE_SIGMA_TAIL = 0.99865
"""Share of normal values below three standard deviations above the mean."""

FEWEST_FOR_LIMITS = 3
FEWEST_FOR_CHANGE = 6
SHUFFLES = 1999


@dataclass(frozen=True)
class ControlLimits:
    """Centre and limits of a chart of single values.

    Attributes
    ----------
    centre, lower, upper : float
        In the unit of the values.
    sigma : float
        Spread of single values.
    n : int
        Values of the baseline.
    """

    centre: float
    lower: float
    upper: float
    sigma: float
    n: int


def short_baseline_limits(baseline: Sequence[float], least_sigma: float = 0.0) -> ControlLimits:
    """Limits that a later value leaves by chance as rarely as three-sigma limits, 27 in 10,000.

    A baseline of a few prints knows its own centre and spread poorly; limits of three estimated
    sigma would then be left by chance far more often. These are prediction limits by Student's t,
    and come down to three sigma for a long baseline.

    Parameters
    ----------
    baseline : sequence of float
        Values in order of time, three or more.
    least_sigma : float
        Spread that the measurement alone makes.
    """
    values = np.asarray(baseline, dtype=float)
    n = len(values)
    if n < FEWEST_FOR_LIMITS:
        raise InputError("control limits need three prints or more: print again")
    centre = float(values.mean())
    sigma = max(float(values.std(ddof=1)), least_sigma)
    half = float(stdtrit(n - 1, THREE_SIGMA_TAIL) * np.sqrt(1 + 1 / n)) * sigma
    return ControlLimits(centre, centre - half, centre + half, sigma, n)


@dataclass(frozen=True)
class LevelChange:
    """The most likely single step in a series.

    Attributes
    ----------
    index : int
        First value after the step.
    before, after : float
        Mean before and after.
    p_value : float
        Chance of a step as clear somewhere in the series if there were none.
    residual : float
        Sum of squares that the step leaves.
    """

    index: int
    before: float
    after: float
    p_value: float
    residual: float


@dataclass(frozen=True)
class Drift:
    """A straight line through a series.

    Attributes
    ----------
    per_30_days, low, high : float
        Slope and its 95 % interval, in the unit of the values a month of 30 days.
    p_value : float
        Chance of a slope as steep if there were none.
    residual : float
        Sum of squares that the line leaves.
    """

    per_30_days: float
    low: float
    high: float
    p_value: float
    residual: float


def find_step(values: Sequence[float], *, seed: int = 0) -> LevelChange | None:
    """Most likely step, its chance by shuffling the series; None for fewer than six values.

    Parameters
    ----------
    values : sequence of float
        In order of time.
    seed : int
        Of the shuffles.

    Notes
    -----
    Every split with two values on each side is tried, by the sum of squares between; the largest
    is compared with the largest of 1,999 shuffled series, so that having looked at every split is
    accounted for.
    """
    x = np.asarray(values, dtype=float)
    if len(x) < FEWEST_FOR_CHANGE:
        return None
    rng = np.random.default_rng(seed)
    shuffled = rng.permuted(np.tile(x, (SHUFFLES, 1)), axis=1)
    gain = _between(x[None, :])[0]
    best = int(np.argmax(gain))
    as_clear = np.sum(_between(shuffled).max(axis=1) >= gain[best] * (1 - 1e-12))
    index = best + 2
    return LevelChange(
        index=index,
        before=float(x[:index].mean()),
        after=float(x[index:].mean()),
        p_value=float((1 + as_clear) / (1 + SHUFFLES)),
        residual=float(np.sum((x - x.mean()) ** 2) - gain[best]),
    )


def _between(series: FloatArray) -> FloatArray:
    """Sum of squares between the parts before and after each split, (series, splits)."""
    n = series.shape[1]
    centred = series - series.mean(axis=1, keepdims=True)
    before = np.cumsum(centred, axis=1)[:, 1 : n - 2]
    left = np.arange(2, n - 1)
    # the parts' means are s/left and -s/(n - left), with s the sum before the split
    squares: FloatArray = before**2 * (1 / left + 1 / (n - left))
    return squares


def find_drift(days: Sequence[float], values: Sequence[float]) -> Drift | None:
    """Straight line by least squares; None for fewer than six values or a single day."""
    t, x = np.asarray(days, dtype=float), np.asarray(values, dtype=float)
    if len(x) < FEWEST_FOR_CHANGE or np.ptp(t) == 0:
        return None
    centred = t - t.mean()
    spread = float(centred @ centred)
    slope = float(centred @ x) / spread
    residual = float(np.sum((x - x.mean() - slope * centred) ** 2))
    degrees = len(x) - 2
    error = float(np.sqrt(residual / degrees / spread))
    half = float(stdtrit(degrees, 0.975)) * error
    p_value = 2 * float(stdtr(degrees, -abs(slope) / error)) if error > 0 else float(slope == 0)
    return Drift(30 * slope, 30 * (slope - half), 30 * (slope + half), p_value, residual)
