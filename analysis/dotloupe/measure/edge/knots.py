"""Where the knots of an edge spread function go: graded by its width, halved where it asks."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.cells import Cells, gap_between_samples
from dotloupe.measure.edge.edge_jackknife import left_out, pooled_error
from dotloupe.measure.edge.least_squares import block_system, cell_splines
from dotloupe.measure.edge.spread_function import spread_basis

SMALLEST_DEPARTURE = 1e-4
"""Structure below this share of the step is not worth a knot."""
SEEN = 3.2
"""Departure, in standard errors, at which structure in one knot interval counts as seen."""


def graded_breaks(
    low: float, high: float, centre: float, spacing: float, core: tuple[float, float], growth: float
) -> FloatArray:
    """Knots evenly spaced over the core of the edge and ever wider outside it.

    A blur has no detail far out that is finer than the distance itself, so few knots carry
    its tails, and the noise of the plateaus stays out of the transform.
    """
    right = _outward(high - centre, spacing, core[1], growth)
    left = _outward(centre - low, spacing, core[0], growth)
    return np.concatenate([centre - left[::-1], centre + right[1:]])


def _outward(length: float, spacing: float, core: float, growth: float) -> FloatArray:
    core = min(core, length)
    inner = max(2, round(core / spacing))
    places = list(np.linspace(0.0, core, inner + 1))
    while places[-1] < length:
        places.append(places[-1] + spacing + growth * (places[-1] - core))
    if len(places) == inner + 1:
        return np.array(places)
    if places[-1] - length > 0.5 * (places[-1] - places[-2]) and len(places) > inner + 2:
        places.pop()
    outer = np.array(places)
    outer[inner:] = core + (outer[inner:] - core) * (length - core) / (outer[-1] - core)
    return outer


def halved_where_needed(
    cells: Cells,
    breaks: FloatArray,
    weight: FloatArray,
    levels: tuple[FloatArray, FloatArray] | None = None,
) -> FloatArray:
    """Halve the knot intervals in which a twice finer spline sees something else.

    "Something else" is judged by leaving out blocks along the edge: grain that is correlated
    across the edge does not pass for structure, a second step or a sharp shoulder does.

    Parameters
    ----------
    cells : Cells
    breaks : ndarray, shape (n + 1,)
        Knots in pixels.
    weight : ndarray, shape (blocks, bands)
        Of the cells.
    levels : tuple of ndarray, optional
        Of the spline on these knots that fits the cells, whole and without each block in turn,
        where they are known.
    """
    smallest = max(0.15, 1.2 * gap_between_samples(cells))
    for _ in range(4):
        may = np.diff(breaks) >= 2.0 * smallest
        if not may.any():
            break
        middle = 0.5 * (breaks[:-1] + breaks[1:])
        fine = np.sort(np.concatenate([breaks, middle[may]]))
        probe = (breaks[:-1, None] + np.diff(breaks)[:, None] * np.array([0.17, 0.5, 0.83])).ravel()
        finer = _fitted(cells, fine, weight)
        coarse = levels or _fitted(cells, breaks, weight)
        departure, error = _departure(probe, (fine, *finer), (breaks, *coarse))
        step = abs(float(finer[0][-1] - finer[0][0]))
        seen = (np.abs(departure) > SEEN * error) & (np.abs(departure) > SMALLEST_DEPARTURE * step)
        split = seen.reshape(-1, 3).any(axis=1) & may
        if not split.any():
            break
        breaks = np.sort(np.concatenate([breaks, middle[split]]))
        levels = None
    return breaks


def _departure(
    probe: FloatArray,
    fine: tuple[FloatArray, FloatArray, FloatArray],
    coarse: tuple[FloatArray, FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray]:
    """Fine minus coarse spline at `probe`, and its jackknife error.

    Each spline by its knots, its levels, and those without each block in turn.
    """
    at_fine, at_coarse = spread_basis(fine[0], probe), spread_basis(coarse[0], probe)
    departure = at_fine @ fine[1] - at_coarse @ coarse[1]
    replicates = fine[2] @ at_fine.T - coarse[2] @ at_coarse.T
    return departure, pooled_error(replicates)


def _fitted(cells: Cells, breaks: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Levels of the spline that fits the cells, whole and without each block in turn."""
    return left_out(*block_system(*cell_splines(cells, breaks), weight, cells.value))
