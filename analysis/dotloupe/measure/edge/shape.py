"""Shape of an edge: rise, blurriness, raggedness, overshoot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.edge.cautions import EdgeOvershoots
from dotloupe.measure.edge.cells import TOO_SHARP
from dotloupe.measure.edge.edge_jackknife import BLOCKS, ratio_interval, standard_error, student
from dotloupe.measure.edge.joint_fit import EdgeFit
from dotloupe.measure.edge.spread_function import GAUSSIAN_RISE, spread_basis
from dotloupe.measure.level_crossing import crossing_between

SHARPENED = 0.01
"""Overshoot, at the low end of its interval, that a reader is told of."""


def _spread_curves(fit: EdgeFit, levels: FloatArray, distance: FloatArray) -> FloatArray:
    """Edge spread of sets of levels as a share of the step, dark to light."""
    dark_first = levels[..., :1] < levels[..., -1:]
    low = np.where(dark_first, levels[..., :1], levels[..., -1:])
    basis = spread_basis(fit.spread.breaks, distance)
    value = (levels @ basis.T - low) / np.abs(levels[..., -1:] - levels[..., :1])
    return np.asarray(value if fit.spread.step > 0 else value[..., ::-1])


def rise(distance: FloatArray, share: FloatArray) -> FloatArray:
    """10-90 % distance of each curve: last below 10 % before the half, first over 90 % after."""
    size = distance.size
    index = np.arange(size)
    half = np.argmax(share >= 0.5, axis=-1)[..., None]
    first = np.where((share <= 0.1) & (index <= half), index, -1).max(axis=-1)
    last = np.where((share >= 0.9) & (index >= half), index, size).min(axis=-1)
    missing = (first < 0) | (last >= size)

    first, last = np.clip(first, 0, size - 2), np.clip(last, 1, size - 1)
    ten = crossing_between(distance, share, first, first + 1, 0.1)
    ninety = crossing_between(distance, share, last - 1, last, 0.9)
    return np.where(missing, np.nan, ninety - ten)


def overshoot(share: FloatArray, replicates: FloatArray) -> tuple[float, Interval]:
    """How far the edge spread passes its plateaus, as a share of the step.

    The larger of the excess over the light plateau and under the dark one. The place of the
    extreme is searched for, so its interval uses a factor for the several places noise offers.
    """
    beyond = np.maximum(share - 1.0, -share)
    wide = student(0.025 / 5) * standard_error(replicates)
    place = int(np.argmax(beyond))
    value, low = float(beyond[place]), float(beyond[place] - wide[place])
    return max(0.0, value), (low if low > 1e-9 else 0.0, max(0.0, float((beyond + wide).max())))


def row_offsets(
    row: NDArray[np.intp],
    distance: FloatArray,
    value: FloatArray,
    fit: EdgeFit,
    shifts: tuple[float, ...],
) -> FloatArray:
    """Displacement of the edge in each row from its curve, weighted by the line spread.

    At a shift other than 0 the same weights lie on a plateau, where they show what noise
    alone gives.

    Returns
    -------
    ndarray, shape (shifts, rows)
        nan where a row does not reach across the edge.
    """
    rows = fit.curve.rows
    grid = np.linspace(fit.low, fit.high, 2001)
    spread, slopes = fit.spread.value_and_slope(grid)
    residual = value - _between(grid, spread, distance)
    offsets = np.empty((len(shifts), rows))
    for i, shift in enumerate(shifts):
        # beyond its ends, where it is 0, the line spread stays so
        slope = _between(grid, slopes, distance - shift)
        carried = np.bincount(row, slope * slope, minlength=rows)
        moved = -np.bincount(row, slope * residual, minlength=rows)
        whole = carried > 0.5 * np.median(carried)
        offsets[i] = np.where(whole, moved / np.where(whole, carried, 1.0), np.nan)
    return offsets


def _between(grid: FloatArray, values: FloatArray, place: FloatArray) -> FloatArray:
    """Values on an even grid at places between its points; its ends go on beyond it."""
    at = (place - grid[0]) * ((grid.size - 1) / (grid[-1] - grid[0]))
    np.clip(at, 0, grid.size - 1, out=at)
    left = at.astype(np.intp)
    at -= left
    at *= np.diff(values, append=values[-1]).take(left)
    at += values.take(left)
    return at


def raggedness(
    row: NDArray[np.intp], distance: FloatArray, value: FloatArray, fit: EdgeFit
) -> tuple[float, float]:
    """Variance in pixels^2 of the edge about its curve, and half its 95 % interval.

    What the same weights see on the plateaus is noise and is taken off. The variance may come
    out below zero where there is no raggedness to see.

    Raises
    ------
    RegionError
        The edge has pixels on it in one row at most.
    """
    far, three = 4.0 * fit.width.sigma, 3.0 * fit.width.sigma
    plateaus = [s for s in (-far, far) if fit.low <= s - three and s + three <= fit.high]
    every = row_offsets(row, distance, value, fit, (0.0, *plateaus))
    squares = (every - np.nanmean(every, axis=1, keepdims=True)) ** 2
    excess = squares[0] - squares[1:].mean(axis=0) if plateaus else squares[0]
    seen = excess[np.isfinite(excess)]
    if seen.size < 2:
        raise RegionError(TOO_SHARP)
    blocks = min(BLOCKS, seen.size)
    power = np.array([group.mean() for group in np.array_split(seen, blocks)])
    without = (power.sum() - power) / (blocks - 1)
    return float(power.mean()), student() * float(standard_error(without))


@dataclass(frozen=True, kw_only=True)
class EdgeShape:
    """Shape of an edge with the camera in it; every interval holds 95 %.

    Attributes
    ----------
    rise_um : float
        10-90 % distance of the edge spread function.
    blurriness_um, raggedness_um : float
        That distance without the raggedness, and the standard deviation of the edge about its
        fitted curve; analogous to the measures of ISO/IEC 13660.
    overshoot : float
        Excess of the edge spread function beyond its plateaus, as a share of the step.
    distance_um, edge_spread : ndarray, shape (k,)
        The edge spread function from dark (0) to light (1).
    line_spread : ndarray, shape (k,)
        Its derivative, per um.
    """

    rise_um: float
    rise_um_interval: Interval
    blurriness_um: float
    blurriness_um_interval: Interval
    raggedness_um: float
    raggedness_um_interval: Interval
    overshoot: float
    overshoot_interval: Interval
    distance_um: FloatArray
    edge_spread: FloatArray
    line_spread: FloatArray


def edge_shape(
    samples: tuple[NDArray[np.intp], FloatArray, FloatArray], fit: EdgeFit, um: float
) -> tuple[EdgeShape, tuple[Caution, ...]]:
    """Rise, blurriness, raggedness and overshoot of a fitted edge.

    Parameters
    ----------
    samples : tuple of ndarray
        Row, distance in pixels and value of the pixels around the edge.
    fit : EdgeFit
    um : float
        Size of a pixel on the print.

    Returns
    -------
    EdgeShape
    tuple of Caution

    Notes
    -----
    Analogous to ISO/IEC 13660 (from memory): blurriness is the distance between the 10 and
    90 % contours of the edge, raggedness the standard deviation of the edge about its fitted
    line. The rise of the averaged edge holds both; blurriness is the rise less what a Gaussian
    raggedness of that size adds to it.
    """
    grid = np.linspace(fit.low, fit.high, 601)
    curves = _spread_curves(fit, np.vstack([fit.spread.levels, fit.levels]), grid)
    share, replicates = curves[0], curves[1:]
    along = grid if fit.spread.step > 0 else -grid[::-1]
    rises = rise(along, curves)
    rise_px = float(rises[0])
    rise_interval = ratio_interval(rise_px, rises[1:])
    beyond, beyond_interval = overshoot(share, replicates)
    ragged, ragged_wide = raggedness(*samples, fit)
    blur = rise_px**2 - GAUSSIAN_RISE**2 * max(ragged, 0.0)
    rise_wide = 0.5 * (rise_interval[1] ** 2 - rise_interval[0] ** 2)
    blur_wide = float(np.hypot(rise_wide, GAUSSIAN_RISE**2 * ragged_wide))
    shape = EdgeShape(
        rise_um=rise_px * um,
        rise_um_interval=(rise_interval[0] * um, rise_interval[1] * um),
        blurriness_um=_root(blur) * um,
        blurriness_um_interval=(_root(blur - blur_wide) * um, _root(blur + blur_wide) * um),
        raggedness_um=_root(ragged) * um,
        raggedness_um_interval=(_root(ragged - ragged_wide) * um, _root(ragged + ragged_wide) * um),
        overshoot=beyond,
        overshoot_interval=beyond_interval,
        distance_um=along * um,
        edge_spread=share,
        line_spread=np.gradient(share, along * um),
    )
    return shape, (EdgeOvershoots(beyond),) if beyond_interval[0] > SHARPENED else ()


def _root(square: float) -> float:
    return float(np.sqrt(max(square, 0.0)))
