"""The joint fit of an edge: spread function and curve together, block by block along the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import legendre

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge_cells import Cells, cell_edges, gather_cells, tone_weights
from dotloupe.measure.edge_knots import graded_breaks, halved_where_needed
from dotloupe.measure.edge_line import EdgeCurve
from dotloupe.measure.edge_resample import damped, left_out
from dotloupe.measure.edge_spread import EdgeSpread, Width, spread_basis, width_of

CORE_SPACING = 0.8
"""First knot spacing over the core, in units of the equivalent Gaussian sigma."""
REACH = 20.0
"""Half-width of the fit in the same units, where the region allows it."""


@dataclass(frozen=True)
class EdgeFit:
    """A converged edge: its curve, its spread function and its blocks.

    Attributes
    ----------
    curve : EdgeCurve
    spread : EdgeSpread
    width : Width
    levels : ndarray, shape (blocks, n)
        Spline levels without each block in turn.
    coefficients : ndarray, shape (blocks, order + 1)
        Curve coefficients without each block in turn.
    cells : Cells
    """

    curve: EdgeCurve
    spread: EdgeSpread
    width: Width
    levels: FloatArray
    coefficients: FloatArray
    cells: Cells

    @property
    def low(self) -> float:
        """Least distance of the fit, in pixels."""
        return float(self.spread.breaks[0])

    @property
    def high(self) -> float:
        """Greatest distance of the fit, in pixels."""
        return float(self.spread.breaks[-1])


def fit_edge(region: FloatArray, curve: EdgeCurve, blocks: int, order: int) -> EdgeFit:
    """Iterate curve and spread function, each on the other's latest state, to convergence."""
    padded = np.zeros(order + 1)
    padded[: min(order + 1, curve.coefficients.size)] = curve.coefficients[: order + 1]
    curve = replace(curve, coefficients=padded)
    low, high = _span(region, curve)
    even = np.linspace(low, high, max(10, min(60, int((high - low) / 0.8))))
    cells = gather_cells(region, curve, cell_edges(even, 2), blocks)
    spread = _first_spread(cells, even)
    for turn in range(8):
        width = width_of(spread)
        curve, spread, width = _recentred(curve, spread, width)
        breaks = _breaks_for(width, *_span(region, curve))
        cells = gather_cells(region, curve, cell_edges(breaks), blocks)
        weight = tone_weights(cells, spread.value(cells.distance), spread.plateaus)
        normal, score = _joint_system(cells, breaks, spread, curve, weight)
        solution = np.linalg.solve(damped(normal.sum(axis=0)), score.sum(axis=0))
        size = breaks.size - 3
        spread, moved = EdgeSpread(breaks, solution[:size]), solution[size:]
        if turn >= 1 and np.abs(moved).max() < 2e-3 * width.sigma:
            break
        limit = 2.0 * width.sigma
        shift = np.concatenate([[0.0], np.clip(moved, -limit, limit)])
        curve = replace(curve, coefficients=curve.coefficients + shift)
    weight = tone_weights(cells, spread.value(cells.distance), spread.plateaus)
    breaks = halved_where_needed(cells, breaks, weight)
    normal, score = _joint_system(cells, breaks, spread, curve, weight)
    solution, without = left_out(normal, score)
    size = breaks.size - 3
    spread = EdgeSpread(breaks, solution[:size])
    coefficients = np.repeat(curve.coefficients[None, :], blocks, axis=0)
    coefficients[:, 1:] += without[:, size:]
    return EdgeFit(curve, spread, width_of(spread), without[:, :size], coefficients, cells)


def _recentred(
    curve: EdgeCurve, spread: EdgeSpread, width: Width
) -> tuple[EdgeCurve, EdgeSpread, Width]:
    """Move the curve to the half-way point of the spread function."""
    coefficients = curve.coefficients.copy()
    coefficients[0] += width.half / np.cos(np.radians(curve.angle_deg))
    shifted = replace(spread, breaks=spread.breaks - width.half)
    centred = replace(width, ten=width.ten - width.half, half=0.0, ninety=width.ninety - width.half)
    return replace(curve, coefficients=coefficients), shifted, centred


def _breaks_for(width: Width, low: float, high: float) -> FloatArray:
    low, high = max(low, -REACH * width.sigma), min(high, REACH * width.sigma)
    spacing = min(CORE_SPACING * width.finest, (high - low) / 10)
    more = 0.7 * width.sigma
    core = (width.half - width.ten + more, width.ninety - width.half + more)
    return graded_breaks(low, high, width.half, spacing, core, CORE_SPACING)


def _first_spread(cells: Cells, breaks: FloatArray) -> EdgeSpread:
    basis = spread_basis(breaks, cells.distance.ravel())
    weighted = (basis * cells.count.ravel()[:, None]).T
    normal = weighted @ basis
    return EdgeSpread(breaks, np.linalg.solve(damped(normal), weighted @ cells.value.ravel()))


def _joint_system(
    cells: Cells, breaks: FloatArray, spread: EdgeSpread, curve: EdgeCurve, weight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Normal matrix and right-hand side of every block.

    The unknowns are the spline levels on `breaks` and the changes of the curve coefficients
    from the first order up, for which `spread` gives the slope.
    """
    distance = cells.distance.ravel()
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    shapes = legendre.legvander(cells.along.ravel(), curve.coefficients.size - 1)[:, 1:]
    moved = -spread.slope(distance)[:, None] * cosine * shapes
    design = np.concatenate([spread_basis(breaks, distance), moved], axis=1)
    design = design.reshape(*cells.count.shape, -1)
    weighted = (design * weight[:, :, None]).transpose(0, 2, 1)
    return np.matmul(weighted, design), np.matmul(weighted, cells.value[:, :, None])[:, :, 0]


def _span(region: FloatArray, curve: EdgeCurve) -> tuple[float, float]:
    """Distances that at least half the rows reach on either side."""
    place = curve.column(np.arange(float(region.shape[0])))
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    left = float(np.median(place)) * cosine
    right = float(region.shape[1] - 1 - np.median(place)) * cosine
    return -left, right
