"""The joint fit of an edge: spread function and curve together, block by block along the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import legendre

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.edge_line import EdgeCurve, edge_samples
from dotloupe.measure.edge_spread import (
    GAUSSIAN_RISE,
    EdgeSpread,
    graded_breaks,
    spread_basis,
)

CORE_SPACING = 0.8
"""Knot spacing over the core, in units of the equivalent Gaussian sigma."""
REACH = 20.0
"""Half-width of the fit in the same units, where the region allows it."""
CELLS_PER_SIGMA = 16


@dataclass(frozen=True)
class Cells:
    """Sums of the samples in narrow bands of distance, in blocks along the edge.

    Every array has the shape (blocks, bands); `count` may be zero.
    """

    count: FloatArray
    distance: FloatArray
    value: FloatArray
    scatter: FloatArray
    along: FloatArray


@dataclass(frozen=True)
class EdgeFit:
    """A converged edge: its curve, its spread function and what resampling needs.

    Attributes
    ----------
    curve : EdgeCurve
    spread : EdgeSpread
    sigma : float
        10-90 % rise over that of a unit Gaussian, in pixels.
    finest : float
        The smaller of `sigma` and that of a Gaussian as steep as the steepest place.
    low, high : float
        Distances the fit spans.
    cells : Cells
    normal : ndarray, shape (blocks, p, p)
        Normal matrices of the blocks for spline levels and curve coefficients together.
    score : ndarray, shape (blocks, p)
        Their right-hand sides for the residuals of the fit.
    """

    curve: EdgeCurve
    spread: EdgeSpread
    sigma: float
    finest: float
    low: float
    high: float
    cells: Cells
    normal: FloatArray
    score: FloatArray


def gather_cells(
    region: FloatArray, curve: EdgeCurve, low: float, high: float, band: float, blocks: int
) -> Cells:
    """Sum the pixels between the distances `low` and `high` into cells."""
    row, distance, value = edge_samples(region, curve, max(-low, high))
    keep = (distance >= low) & (distance <= high)
    row, distance, value = row[keep], distance[keep], value[keep]
    bands = int(np.ceil((high - low) / band))
    block = (row * blocks) // region.shape[0]
    key = block * bands + np.minimum(((distance - low) / band).astype(int), bands - 1)
    shape = (blocks, bands)

    def total(weights: FloatArray | None) -> FloatArray:
        return np.bincount(key, weights, minlength=blocks * bands).reshape(shape).astype(float)

    count = total(None)
    safe = np.maximum(count, 1.0)
    mean = total(value) / safe
    return Cells(
        count=count,
        distance=np.where(count > 0, total(distance) / safe, 0.5 * (low + high)),
        value=mean,
        scatter=np.maximum(total(value**2) - count * mean**2, 0.0),
        along=total(curve.along(row)) / safe,
    )


def _rise_of(spread: EdgeSpread) -> tuple[float, float, float]:
    """Distances where the spread function passes 10, 50 and 90 % of its step."""
    grid = np.linspace(spread.breaks[0], spread.breaks[-1], 1001)
    share = (spread.value(grid) - spread.levels[0]) / spread.step
    half = int(np.argmax(share >= 0.5))
    below = np.nonzero(share[: half + 1] <= 0.1)[0]
    above = np.nonzero(share[half:] >= 0.9)[0]
    if half == 0 or below.size == 0 or above.size == 0:
        raise RegionError(
            "the edge's blur is wider than the region; photograph closer or choose a wider region"
        )

    def crossing(index: int, target: float) -> float:
        rise = share[index] - share[index - 1]
        return float(grid[index] - (share[index] - target) / rise * (grid[1] - grid[0]))

    return crossing(below[-1] + 1, 0.1), crossing(half, 0.5), crossing(half + above[0], 0.9)


def _solve_levels(cells: Cells, breaks: FloatArray, weight: FloatArray) -> EdgeSpread:
    used = weight.ravel() > 0
    basis = spread_basis(breaks, cells.distance.ravel()[used])
    w = weight.ravel()[used]
    normal = basis.T @ (basis * w[:, None])
    normal[np.diag_indices_from(normal)] += 1e-9 * np.trace(normal) / len(normal)
    return EdgeSpread(breaks, np.linalg.solve(normal, basis.T @ (w * cells.value.ravel()[used])))


def tone_weights(cells: Cells, spread: EdgeSpread) -> FloatArray:
    """Weight of each cell: its count over the variance of its tone.

    Noise in a print and in a camera goes with tone; a parabola in the share of the step joins
    the variances seen on the two plateaus and on the edge.
    """
    residual = cells.scatter + cells.count * (cells.value - spread.value(cells.distance)) ** 2
    share = (spread.value(cells.distance) - spread.levels[0]) / spread.step
    floor = (1e-4 * spread.step) ** 2
    zones = []
    for first, last in ((-np.inf, 0.1), (0.25, 0.75), (0.9, np.inf)):
        zone = (share >= first) & (share <= last)
        count = cells.count[zone].sum()
        zones.append(residual[zone].sum() / count if count > 20 else np.nan)
    known = np.array(zones)
    known[np.isnan(known)] = np.nanmean(known)
    left, middle, right = np.maximum(known, floor)
    u = np.clip(share, 0.0, 1.0)
    parabola = left * (1 - u) * (1 - 2 * u) + 4 * middle * u * (1 - u) + right * u * (2 * u - 1)
    return cells.count / np.maximum(parabola, 0.3 * min(left, middle, right))


def _joint_system(
    cells: Cells, spread: EdgeSpread, curve: EdgeCurve, weight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Normal matrix and score of every block, for spline levels and curve coefficients 1 up."""
    blocks, bands = cells.count.shape
    distance = cells.distance.ravel()
    residual = (cells.value - spread.value(cells.distance)).reshape(blocks, bands)
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    order = curve.coefficients.size - 1
    shapes = legendre.legvander(cells.along.ravel(), order)[:, 1:]
    moved = -spread.slope(distance)[:, None] * cosine * shapes
    design = np.concatenate([spread_basis(spread.breaks, distance), moved], axis=1)
    design = design.reshape(blocks, bands, -1)
    weighted = design * weight[:, :, None]
    normal = np.matmul(weighted.transpose(0, 2, 1), design)
    score = np.matmul(weighted.transpose(0, 2, 1), residual[:, :, None])[:, :, 0]
    return normal, score


def damped(normal: FloatArray) -> FloatArray:
    """The matrix with a ridge far below what the data weigh, so that it can be inverted."""
    diagonal = np.diagonal(normal, axis1=-2, axis2=-1)
    size = normal.shape[-1]
    ridge = 1e-10 * diagonal.mean(axis=-1)[..., None] + 1e-10 * diagonal
    return normal + ridge[..., None] * np.eye(size)


def _span(region: FloatArray, curve: EdgeCurve) -> tuple[float, float]:
    """Distances that at least half the rows reach on either side."""
    place = curve.column(np.arange(float(region.shape[0])))
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    left = float(np.median(place)) * cosine
    right = float(region.shape[1] - 1 - np.median(place)) * cosine
    return -left, right


def _breaks_for(spread: EdgeSpread, low: float, high: float) -> tuple[FloatArray, float, float]:
    ten, half, ninety = _rise_of(spread)
    sigma = abs(ninety - ten) / GAUSSIAN_RISE
    low, high = max(low, -REACH * sigma), min(high, REACH * sigma)
    grid = np.linspace(low, high, 2001)
    peak = float(np.abs(spread.slope(grid)).max())
    steep = abs(spread.step) / (np.sqrt(2 * np.pi) * peak)
    finest = min(sigma, max(steep, 0.4))
    spacing = CORE_SPACING * finest
    spacing = min(spacing, (high - low) / 10)
    core = (half - ten + 0.7 * sigma, ninety - half + 0.7 * sigma)
    growth = CORE_SPACING
    return graded_breaks(low, high, half, spacing, core, growth), sigma, finest


def fit_edge(region: FloatArray, curve: EdgeCurve, blocks: int, order: int) -> EdgeFit:
    """Iterate curve and spread function, each on the other's latest state, to convergence."""
    low, high = _span(region, curve)
    even = np.linspace(low, high, max(10, min(60, int((high - low) / 0.8))))
    cells = gather_cells(region, curve, low, high, 0.25, blocks)
    spread = _solve_levels(cells, even, cells.count)
    padded = np.zeros(order + 1)
    padded[: min(order + 1, curve.coefficients.size)] = curve.coefficients[: order + 1]
    curve = replace(curve, coefficients=padded)
    breaks, sigma, finest = _breaks_for(spread, low, high)
    for turn in range(8):
        cells = gather_cells(region, curve, breaks[0], breaks[-1], sigma / CELLS_PER_SIGMA, blocks)
        spread = _solve_levels(cells, breaks, cells.count)
        weight = tone_weights(cells, spread)
        spread = _solve_levels(cells, breaks, weight)
        normal, score = _joint_system(cells, spread, curve, weight)
        change = np.linalg.solve(damped(normal.sum(axis=0)), score.sum(axis=0))
        moved = change[spread.levels.size :]
        limit = 2.0 * sigma
        moved = np.clip(moved, -limit, limit)
        if turn == 7 or (turn > 1 and np.abs(moved).max() < 1e-3 * sigma):
            break
        centre = _rise_of(spread)[1]
        curve = replace(
            curve,
            coefficients=curve.coefficients
            + np.concatenate([[centre / np.cos(np.radians(curve.angle_deg))], moved]),
        )
        low, high = _span(region, curve)
        breaks, sigma, finest = _breaks_for(
            replace(spread, breaks=spread.breaks - centre), low, high
        )
    return EdgeFit(curve, spread, sigma, finest, breaks[0], breaks[-1], cells, normal, score)
