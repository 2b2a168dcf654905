"""Which single value of a two-dimensional spectrum stands over its neighbours."""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import BoolArray, FloatArray

    IntArray = NDArray[np.intp]

FALSE_ALARM = 0.01
FINEST_CYCLES_PER_MM = 8.0
AXIS_TOLERANCE_DEG = 4.0
FEWEST_PERIODS = 2.0


def search_levels(
    power: FloatArray, frequency_y: FloatArray, frequency_x: FloatArray, pixels_per_mm: float
) -> tuple[BoolArray, FloatArray, FloatArray]:
    """Where a peak is looked for, the noise level around each value, and what must top it.

    Parameters
    ----------
    power : ndarray, shape (ny, nx)
        Squared modulus of a tapered transform, x frequencies from zero up.
    frequency_y, frequency_x : ndarray, shape (ny,) and (nx,)
        Cycles per pixel.
    pixels_per_mm : float

    Returns
    -------
    searched : ndarray of bool, shape (ny, nx)
        Two periods and more in the field, up to 8 cycles/mm.
    level : ndarray, shape (ny, nx)
        Expected power of the noise.
    needed : ndarray, shape (ny, nx)
        Multiple of the level that noise tops once in a hundred fields.
    """
    fy, fx = np.abs(frequency_y)[:, None], frequency_x[None, :]
    radius = np.hypot(fy, fx)
    step_y, step_x = float(frequency_y[1]), float(frequency_x[1])
    finest = min(FINEST_CYCLES_PER_MM / pixels_per_mm, 0.4)
    inside = (radius <= finest) & (radius >= FEWEST_PERIODS * max(step_x, step_y))
    tangent = np.tan(np.radians(AXIS_TOLERANCE_DEG))
    along_x = inside & (fy <= fx * tangent + 0.5 * step_y)
    along_y = inside & (fx <= fy * tangent + 0.5 * step_x)
    elsewhere = inside & ~along_x & ~along_y
    level, needed = np.ones_like(power), np.ones_like(power)
    if not inside.any():
        return inside, level, needed
    ring = np.rint(radius / max(step_y, step_x)).astype(np.intp)
    trend = _radial_trend(power, ring, inside)[ring]
    flat = power / trend
    near = max(int((along_x | along_y).sum()), 1)
    for sector, tests in ((elsewhere, int(elsewhere.sum())), (along_x, near), (along_y, near)):
        if not sector.any():
            continue
        own, count = _running_level(flat, ring, sector)
        rings = np.minimum(ring, own.size - 1)
        level = np.where(sector, trend * np.maximum(own[rings], 1.0), level)
        # over the mean of n exponential values another follows F with 2 and 2n degrees
        n = np.maximum(count[rings] / 2, 2)
        chances = 2 * tests / FALSE_ALARM
        needed = np.where(sector, n * np.expm1(np.log(chances) / n), needed)
    return inside, level, needed


def _radial_trend(power: FloatArray, ring: IntArray, inside: BoolArray) -> FloatArray:
    """Smooth level of noise power by ring, a cubic in the logarithms of both, for every ring."""
    rings = np.arange(int(ring.max()) + 1)
    index, value = ring[inside], np.log(np.maximum(power[inside], 1e-300))
    count = np.bincount(index, minlength=rings.size)
    held = count > 0
    mean = np.bincount(index, value, rings.size)[held] / count[held]
    x = np.log(np.maximum(rings, 1) / rings[held].mean())
    degree = min(3, int(held.sum()) - 1)
    fit = np.polyfit(x[held], mean, degree, w=np.sqrt(count[held]))
    limited = np.clip(x, x[held].min(), x[held].max())
    # the mean logarithm of exponential values lies Euler's constant under that of their mean
    return np.asarray(np.exp(np.polyval(fit, limited) + np.euler_gamma))


def _running_level(
    flat: FloatArray, ring: IntArray, among: BoolArray
) -> tuple[FloatArray, IntArray]:
    """Noise level of each ring from the median of the rings around it, and of how many values."""
    order = np.argsort(ring[among], kind="stable")
    chosen_ring, chosen = ring[among][order], flat[among][order]
    rings = np.arange(int(chosen_ring[-1]) + 1)
    reach = np.maximum(8, rings // 4)
    start, stop = np.searchsorted(chosen_ring, [rings - reach, rings + reach + 1])
    level = np.ones(rings.size)
    for r in np.flatnonzero(stop > start):
        level[r] = _median(chosen[start[r] : stop[r]]) / log(2)
    return level, np.where(stop > start, stop - start, 2)


def _median(values: FloatArray) -> float:
    """Median without the checks for missing numbers, which cost more than a short median."""
    below, above = (values.size - 1) // 2, values.size // 2
    ordered = values.copy()
    ordered.partition((below, above))
    return float((ordered[below] + ordered[above]) / 2)
