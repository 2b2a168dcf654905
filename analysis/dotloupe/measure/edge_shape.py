"""Shape of an edge: rise, overshoot, raggedness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.edge_fit import EdgeFit
from dotloupe.measure.edge_resample import standard_error, student
from dotloupe.measure.edge_spread import spread_basis


def spread_curves(fit: EdgeFit, levels: FloatArray, distance: FloatArray) -> FloatArray:
    """Edge spread of one or many sets of levels as a share of the step, dark to light."""
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

    def crossing(left: NDArray[np.intp], target: float) -> FloatArray:
        left = np.clip(left, 0, size - 2)
        a = np.take_along_axis(share, left[..., None], axis=-1)[..., 0]
        b = np.take_along_axis(share, left[..., None] + 1, axis=-1)[..., 0]
        part = (target - a) / np.where(a == b, 1.0, b - a)
        return distance[left] + part * (distance[left + 1] - distance[left])

    return np.where(missing, np.nan, crossing(last - 1, 0.9) - crossing(first, 0.1))


def overshoot(share: FloatArray, replicates: FloatArray) -> tuple[float, Interval]:
    """How far the edge spread passes its plateaus, as a share of the step.

    The larger of the excess over the light plateau and under the dark one. The place of the
    extreme is searched for, so its interval uses a factor for the several places noise offers.
    """
    beyond = np.maximum(share - 1.0, -share)
    error = standard_error(replicates)
    wide = student(0.025 / 5)
    low = float(np.max(beyond - wide * error))
    place = int(np.argmax(beyond))
    value = max(0.0, float(beyond[place]))
    return value, (max(0.0, low), value + wide * float(error[place]))


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
    residual = value - np.interp(distance, grid, fit.spread.value(grid))
    slopes = fit.spread.slope(grid)
    offsets = np.empty((len(shifts), rows))
    for i, shift in enumerate(shifts):
        slope = np.interp(distance - shift, grid, slopes, left=0.0, right=0.0)
        carried = np.bincount(row, slope**2, minlength=rows)
        moved = -np.bincount(row, slope * residual, minlength=rows)
        whole = carried > 0.5 * np.median(carried)
        offsets[i] = np.where(whole, moved / np.where(whole, carried, 1.0), np.nan)
    return offsets


def raggedness(
    row: NDArray[np.intp], distance: FloatArray, value: FloatArray, fit: EdgeFit
) -> tuple[float, Interval]:
    """Standard deviation in pixels of the edge about its curve, noise of the plateaus taken out."""
    far, three = 4.0 * fit.width.sigma, 3.0 * fit.width.sigma
    plateaus = [s for s in (-far, far) if fit.low <= s - three and s + three <= fit.high]
    offsets, *noise = row_offsets(row, distance, value, fit, (0.0, *plateaus))
    floor = float(np.mean([np.nanvar(n) for n in noise])) if noise else 0.0
    blocks = fit.levels.shape[0]
    seen = offsets[np.isfinite(offsets)]
    groups = np.array_split((seen - seen.mean()) ** 2, blocks)
    power = np.array([group.mean() for group in groups])
    variance = max(0.0, float(power.mean()) - floor)
    wide = student() * float(standard_error((power.sum() - power) / (blocks - 1)))
    low, high = np.sqrt(max(0.0, variance - wide)), np.sqrt(variance + wide)
    return float(np.sqrt(variance)), (float(low), float(high))
