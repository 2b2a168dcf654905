"""The profile across a group of bars: the bars counted in it, and their period fitted to it."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.bar_block import moving_mean
from dotloupe.measure.peaks import prominent_peaks

COUNTED_FROM = 0.4
"""A bar counts where it stands out by this share of the swing of the bars."""
SMOOTHED = 0.1
"""Gaussian smoothing before counting, in periods: takes 18 % off the bars, 83 % off harmonic 3."""
STEPS = 16
"""Steps of a period in which bars are looked for."""


def dark_bars(
    position: FloatArray,
    profile: FloatArray,
    period_px: float,
    between: tuple[float, float],
    swing: float,
) -> FloatArray:
    """Columns of the bars that stand out between two columns.

    A bar is a minimum of the profile, freed of its mean over one period, that is deeper than
    both its sides by `COUNTED_FROM` of the swing of the bars asked for; where the profile swings
    more than those, by that share of its own swing.
    """
    from scipy.interpolate import CubicSpline
    from scipy.ndimage import gaussian_filter1d

    fine = np.arange(position[0], position[-1], period_px / STEPS)
    values = gaussian_filter1d(CubicSpline(position, profile)(fine), SMOOTHED * STEPS)
    _, mean = moving_mean(np.pad(values, STEPS // 2, mode="edge"), STEPS)
    bars = values - mean[: len(values)]
    held = (fine >= between[0]) & (fine <= between[1])
    if held.sum() < STEPS:
        return np.empty(0)
    own_swing = 2 * np.sqrt(2) * float(bars[held].std())
    found = prominent_peaks(-bars, COUNTED_FROM * max(swing, own_swing))
    return np.asarray(fine[found[held[found]]])


def fitted_period(
    position: FloatArray, profile: FloatArray, centre: float, period_px: float, bars: int
) -> tuple[float, float]:
    """Period of a group of equal bars on paper, by a fit of bars with soft edges.

    The softness is that of a Gaussian; it is a nuisance here, and the period hangs on it only
    where the bars run together.

    Returns
    -------
    period, error : float
        In pixels, with its standard error.
    """
    from scipy.optimize import leastsq

    near = np.abs(position - centre) < (bars / 2 + 1) * period_px
    x, y = (position[near] - centre) / period_px, profile[near]
    number = np.arange(bars) - (bars - 1) / 2
    least_soft = 0.4 / period_px

    def misfit(p: FloatArray) -> FloatArray:
        return _soft_bars(p, x, number, least_soft) - y

    def slopes(p: FloatArray) -> FloatArray:
        return _soft_slopes(p, x, number, least_soft)

    start = np.array([y.max(), 0.0, np.ptp(y), 0.0, 1.0, 0.3])
    fitted, _, info, *_ = leastsq(
        misfit,
        start,
        Dfun=slopes,
        full_output=True,
        ftol=1e-8,
        xtol=1e-8,
        gtol=1e-8,
        maxfev=60,
        diag=np.ones(len(start)),
    )
    last = slopes(fitted)
    variance = float(np.sum(info["fvec"] ** 2)) / max(len(x) - len(start), 1)
    spread = np.linalg.pinv(last.T @ last) * variance
    return float(fitted[4] * period_px), float(np.sqrt(spread[4, 4]) * period_px)


def _soft_bars(p: FloatArray, x: FloatArray, number: FloatArray, least_soft: float) -> FloatArray:
    """Profile of bars half a period wide with Gaussian edges.

    Parameters: paper, its tilt, depth of the bars, middle, period, softness (sigma).
    """
    paper, tilt, depth = p[:3]
    return np.asarray(paper + tilt * x - depth * _bars(*_borders(p, x, number, least_soft)))


def _soft_slopes(p: FloatArray, x: FloatArray, number: FloatArray, least_soft: float) -> FloatArray:
    """Derivatives of `_soft_bars` by its parameters, shape (n, 6)."""
    depth, soft = p[2], p[5]
    sigma = np.hypot(soft, least_soft)
    left, right = _borders(p, x, number, least_soft)
    bell_left, bell_right = _bell(left) / sigma, _bell(right) / sigma
    slopes = np.empty((len(x), 6))
    slopes[:, 0], slopes[:, 1], slopes[:, 2] = 1.0, x, -_bars(left, right)
    slopes[:, 3] = (bell_right - bell_left).sum(axis=1)
    slopes[:, 4] = (bell_left * (0.25 - number) + bell_right * (0.25 + number)).sum(axis=1)
    slopes[:, 5] = (bell_right * right - bell_left * left).sum(axis=1) * soft / sigma
    slopes[:, 3:] *= -depth
    return slopes


def _borders(
    p: FloatArray, x: FloatArray, number: FloatArray, least_soft: float
) -> tuple[FloatArray, FloatArray]:
    """Distances from the left and the right border of each bar, in sigmas: (n, bars) each."""
    middle, period, soft = p[3:]
    sigma = np.hypot(soft, least_soft)
    from_bar = (x - middle)[:, None] - number * period
    return (from_bar + 0.25 * period) / sigma, (from_bar - 0.25 * period) / sigma


def _bars(left: FloatArray, right: FloatArray) -> FloatArray:
    """Bars of depth 1, from the distances from their borders."""
    from scipy.special import ndtr

    return np.asarray((ndtr(left) - ndtr(right)).sum(axis=1))


def _bell(x: FloatArray) -> FloatArray:
    """Density of the normal distribution."""
    return np.asarray(np.exp(-0.5 * x * x) / np.sqrt(2 * np.pi))
