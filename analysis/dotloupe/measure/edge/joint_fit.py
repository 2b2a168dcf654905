"""The joint fit of an edge: spread function and curve together, block by block along the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.cells import Cells, cell_edges, gather_cells, tone_weights
from dotloupe.measure.edge.edge_jackknife import BLOCKS, damped, left_out, standard_error, student
from dotloupe.measure.edge.knots import graded_breaks, halved_where_needed
from dotloupe.measure.edge.least_squares import (
    block_system,
    cell_splines,
    whole_system,
)
from dotloupe.measure.edge.position import EdgeCurve
from dotloupe.measure.edge.spread_function import EdgeSpread, Width, width_of

CORE_SPACING = 0.6
"""First knot spacing over the core, in units of the equivalent Gaussian sigma."""
GROWTH = 2.0
"""Growth of the spacing per distance outside the core."""
REACH = 16.0
"""Half-width of the fit in the same units, where the region allows it."""

BESIDE_PIXELS = 1e-6
"""Pixels by which the span of the fit lies beside pixels at its ends and in its middle."""
HIGHEST_ORDER = 5
"""Highest order of the curve of an edge."""
BEND_CHANCE = 2.5e-3
"""Tail probability at which a bend of the edge counts as seen."""


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
    """

    curve: EdgeCurve
    spread: EdgeSpread
    width: Width
    levels: FloatArray
    coefficients: FloatArray

    @property
    def low(self) -> float:
        """Least distance of the fit, in pixels."""
        return float(self.spread.breaks[0])

    @property
    def high(self) -> float:
        """Greatest distance of the fit, in pixels."""
        return float(self.spread.breaks[-1])


def fit_edge(region: FloatArray, first: EdgeCurve) -> EdgeFit:
    """Fit the spread function of an edge together with the curve it follows.

    Parameters
    ----------
    region : ndarray, shape (rows, columns)
        Region of a near-vertical edge.
    first : EdgeCurve
        A first line or curve. The curve gets as many orders, up to `HIGHEST_ORDER`, as its
        blocks agree on.
    """
    curve, spread = first, _first_spread(region, first)
    for _ in range(4):
        curve, spread, cells = _converged(region, curve, spread)
        value, slope = spread.value_and_slope(cells.distance)
        weight = tone_weights(cells, value, spread.plateaus)
        normal, score = block_system(
            *_joint_design(cells, spread.breaks, slope, _of_highest_order(curve)),
            weight,
            cells.value,
        )
        bent = _with_bends_seen(normal, score, spread, curve)
        if bent.coefficients.size == curve.coefficients.size:
            break
        curve = bent
    size = spread.breaks.size - 3
    alone = left_out(normal[:, :size, :size], score[:, :size])
    breaks = halved_where_needed(cells, spread.breaks, weight, alone)
    if breaks.size != spread.breaks.size:
        design = _joint_design(cells, breaks, slope, curve)
        normal, score = block_system(*design, weight, cells.value)
    size = breaks.size - 3
    unknowns = size + curve.coefficients.size - 1
    solution, without = left_out(normal[:, :unknowns, :unknowns], score[:, :unknowns])
    spread = EdgeSpread(breaks, solution[:size])
    coefficients = np.repeat(curve.coefficients[None, :], BLOCKS, axis=0)
    coefficients[:, 1:] += without[:, size:]
    return EdgeFit(curve, spread, width_of(spread), without[:, :size], coefficients)


def _converged(
    region: FloatArray, curve: EdgeCurve, spread: EdgeSpread
) -> tuple[EdgeCurve, EdgeSpread, Cells]:
    """Iterate curve and spread function, each on the other's latest state."""
    for turn in range(8):
        off_centre = width_of(spread)
        curve, width = _recentred(curve, off_centre)
        breaks = _breaks_for(width, *_span(region, curve))
        cells = gather_cells(region, curve, cell_edges(breaks), BLOCKS)
        value, slope = spread.value_and_slope(cells.distance + off_centre.half)
        weight = tone_weights(cells, value, spread.plateaus)
        design = _joint_design(cells, breaks, slope, curve)
        normal, score = whole_system(*design, weight, cells.value)
        solution = np.linalg.solve(damped(normal), score)
        size = breaks.size - 3
        spread, moved = EdgeSpread(breaks, solution[:size]), solution[size:]
        if turn >= 1 and np.abs(moved).max() < 2e-3 * width.sigma:
            break
        limit = 2.0 * width.sigma
        shift = np.concatenate([[0.0], np.clip(moved, -limit, limit)])
        curve = replace(curve, coefficients=curve.coefficients + shift)
    return curve, spread, cells


def _of_highest_order(curve: EdgeCurve) -> EdgeCurve:
    missing = HIGHEST_ORDER + 1 - curve.coefficients.size
    return replace(curve, coefficients=np.pad(curve.coefficients, (0, missing)))


def _with_bends_seen(
    normal: FloatArray, score: FloatArray, spread: EdgeSpread, curve: EdgeCurve
) -> EdgeCurve:
    """Raise the order of the curve to the highest whose coefficient stands out of its error.

    A bend under 3 % of the edge's sigma widens it by less than 0.02 % and is left out. The
    normal matrices and right-hand sides are those of the highest order.
    """
    solution, without = left_out(normal, score)
    moved, error = solution[-HIGHEST_ORDER:], standard_error(without[:, -HIGHEST_ORDER:])
    worth = 0.03 * width_of(spread).sigma
    seen = (np.abs(moved) > student(BEND_CHANCE) * error) & (np.abs(moved) > worth)
    order = 1 + int(np.max(np.nonzero(seen)[0], initial=0))
    if order < curve.coefficients.size:
        return curve
    coefficients = _of_highest_order(curve).coefficients[: order + 1]
    return replace(curve, coefficients=coefficients + np.append(0.0, moved[:order]))


def _recentred(curve: EdgeCurve, width: Width) -> tuple[EdgeCurve, Width]:
    """Move the curve to the half-way point of the spread function."""
    coefficients = curve.coefficients.copy()
    coefficients[0] += width.half / np.cos(np.radians(curve.angle_deg))
    centred = replace(width, ten=width.ten - width.half, half=0.0, ninety=width.ninety - width.half)
    return replace(curve, coefficients=coefficients), centred


def _breaks_for(width: Width, low: float, high: float) -> FloatArray:
    """Knots over the whole window, so that wide tails are fitted and not only looked for."""
    low, high = max(low, -REACH * width.sigma), min(high, REACH * width.sigma)
    spacing = min(CORE_SPACING * width.finest, (high - low) / 10)
    more = 1.7 * width.sigma
    core = (width.half - width.ten + more, width.ninety - width.half + more)
    return graded_breaks(low, high, width.half, spacing, core, GROWTH)


def _first_spread(region: FloatArray, curve: EdgeCurve) -> EdgeSpread:
    """Spread function on even knots, before anything is known of the edge's width."""
    low, high = _span(region, curve)
    breaks = np.linspace(low, high, max(10, min(60, int((high - low) / 0.8))))
    cells = gather_cells(region, curve, cell_edges(breaks, 2), 1)
    normal, score = whole_system(*cell_splines(cells, breaks), cells.count, cells.value)
    return EdgeSpread(breaks, np.linalg.solve(damped(normal), score))


def _joint_design(
    cells: Cells, breaks: FloatArray, slope: FloatArray, curve: EdgeCurve
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Derivatives of the cells by the unknowns, and the unknowns they belong to, by group.

    The unknowns are the spline levels on `breaks` and the changes of the curve coefficients
    from the first order up, for which the edge has its `slope` at the cells.
    """
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    shapes = legendre.legvander(cells.along, curve.coefficients.size - 1)[..., 1:]
    splines, levels = cell_splines(cells, breaks)
    groups, orders = len(levels), shapes.shape[-1]
    moved = (-cosine * slope)[..., None] * shapes
    moved = moved.reshape(len(slope), groups, -1, orders).swapaxes(0, 1)
    coefficients = breaks.size - 3 + np.arange(orders)
    return (
        np.concatenate([splines, moved], axis=3),
        np.concatenate([levels, np.tile(coefficients, (groups, 1))], axis=1),
    )


def _span(region: FloatArray, curve: EdgeCurve) -> tuple[float, float]:
    """Distances that at least half the rows reach on either side.

    The outermost pixels of the middle row, and its middle one, would lie just on borders of
    cells: into which they fall must not hang on how a number was rounded.
    """
    place = float(np.median(curve.column(np.arange(float(region.shape[0])))))
    cosine = float(np.cos(np.radians(curve.angle_deg)))
    left, right = place * cosine, (region.shape[1] - 1 - place) * cosine
    return BESIDE_PIXELS - left, BESIDE_PIXELS + right
