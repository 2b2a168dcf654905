"""The profile across a group of bars: the bars counted in it, and their period fitted to it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.measure.peaks import prominent_peaks
from dotloupe.measure.soft_borders import SoftBorders, soft_borders

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
    from scipy.interpolate import splev, splrep
    from scipy.ndimage import gaussian_filter1d, uniform_filter1d

    fine = np.arange(position[0], position[-1], period_px / STEPS)
    spline = splrep(position, profile, k=min(3, len(position) - 1))
    values = gaussian_filter1d(splev(fine, spline), SMOOTHED * STEPS)
    bars = values - uniform_filter1d(values, STEPS, mode="nearest")
    held = (fine >= between[0]) & (fine <= between[1])
    if held.sum() < STEPS:
        return np.empty(0)
    own_swing = 2 * np.sqrt(2) * float(bars[held].std())
    found = prominent_peaks(-bars, COUNTED_FROM * max(swing, own_swing))
    return np.asarray(fine[found[held[found]]])


@dataclass(frozen=True)
class FittedBars:
    """A group of bars half a period wide with soft edges, as fitted to a profile.

    Attributes
    ----------
    period, error : float
        In pixels, with its standard error.
    softness : float
        Sigma of the Gaussian that softens the edges, in pixels.
    misfit : float
        Sum of squares that the fit leaves.
    """

    period: float
    error: float
    softness: float
    misfit: float


def fitted_bars(
    position: FloatArray, profile: FloatArray, centre: float, period_px: float, number: FloatArray
) -> FittedBars:
    """Fit a group of equal bars on paper, bars with soft edges.

    The softness is that of a Gaussian; for the period it is a nuisance, and the period hangs on
    it only where the bars run together.

    Parameters
    ----------
    position, profile : ndarray of shape (n,)
        Columns in pixels and the reflectance there.
    centre : float
        Column from which the bars are numbered.
    period_px : float
    number : ndarray of shape (bars,)
        Place of each bar, in periods from the centre.
    """
    from scipy.optimize import leastsq

    x, y = (position - centre) / period_px, profile
    sides = np.concatenate([number - 0.25, number + 0.25])
    inside = np.repeat([1.0, -1.0], len(number))
    least_soft = 0.4 / period_px

    @lru_cache(maxsize=1)  # slopes are asked for where the misfit was just before
    def borders(parameters: bytes) -> SoftBorders:
        middle, period, soft = np.frombuffer(parameters)[3:].tolist()
        return soft_borders(x, middle + period * sides, soft, least_soft)

    def misfit(p: FloatArray) -> FloatArray:
        paper, tilt, depth = p[:3].tolist()
        return paper + tilt * x - depth * (inside @ borders(p.tobytes()).passed) - y

    def slopes(p: FloatArray) -> FloatArray:
        return _slopes(p, x, sides, inside, borders(p.tobytes()))

    start = np.array([y.max(), 0.0, np.ptp(y), 0.0, 1.0, 0.3])
    fitted, covariance, info, *_ = leastsq(
        misfit,
        start,
        Dfun=slopes,
        col_deriv=True,
        full_output=True,
        ftol=1e-8,
        xtol=1e-8,
        gtol=1e-8,
        maxfev=60,
        diag=np.ones(len(start)),
    )
    left = float(np.sum(info["fvec"] ** 2))
    variance = np.inf if covariance is None else covariance[4, 4]
    variance *= left / max(len(x) - len(start), 1)
    return FittedBars(
        period=float(fitted[4] * period_px),
        error=float(np.sqrt(variance) * period_px),
        softness=float(np.hypot(fitted[5], least_soft) * period_px),
        misfit=left,
    )


def near_group(
    position: FloatArray, centre: float, period_px: float, bars: int
) -> NDArray[np.bool]:
    """Columns of a group of bars and of one period and a half of paper on both sides."""
    return np.asarray(np.abs(position - centre) < (bars / 2 + 1) * period_px)


def _slopes(
    p: FloatArray, x: FloatArray, sides: FloatArray, inside: FloatArray, borders: SoftBorders
) -> FloatArray:
    """Derivatives of the profile of bars half a period wide with soft edges, shape (6, n).

    By its parameters: paper, its tilt, depth of the bars, middle, period, softness (sigma).
    """
    depth, soft = float(p[2]), float(p[5])
    bells = borders.bells
    moved = depth * inside
    slopes = np.empty((6, len(x)))
    slopes[0] = 1.0
    slopes[1] = x
    slopes[2] = -inside @ borders.passed
    slopes[3:5] = np.array([moved, moved * sides]) @ bells
    slopes[5] = moved * (soft / borders.sigma) @ (bells * borders.distance)
    return slopes
