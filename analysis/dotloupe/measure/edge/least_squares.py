"""Least squares of an edge's splines on its cells, whole or block by block along the edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.cells import Cells
from dotloupe.measure.edge.spread_function import (
    piece_levels,
    place_powers,
    spline_pieces,
    spread_basis,
)

WITHIN = 1.0 + 1e-9
"""Places in a knot interval go from -1 to 1, but for the rounding of means."""


def cell_splines(cells: Cells, breaks: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Splines at the cells, and the levels of the edge spread function they belong to.

    Groups of so many cells as divide all knot intervals share the few splines of theirs. Where
    knots were put within a cell, all cells count as one group, in which every spline has its
    column.

    Returns
    -------
    splines : ndarray, shape (groups, blocks, cells of a group, splines)
    levels : ndarray, shape (groups, splines)
    """
    blocks, bands = cells.count.shape
    interval = np.searchsorted(breaks[1:-1], cells.distance.mean(axis=0), side="right")
    low, high = breaks[interval], breaks[interval + 1]
    place = (2.0 * cells.distance - (low + high)) / (high - low)
    if np.abs(place).max() > WITHIN:
        basis = spread_basis(breaks, cells.distance.ravel())
        return basis.reshape(1, blocks, bands, -1), np.arange(basis.shape[1])[None, :]
    together = int(np.gcd.reduce(np.bincount(interval)))
    of_group, groups = interval[::together], bands // together
    powers = place_powers(by_group(place, groups).reshape(groups, -1))
    splines = np.matmul(powers.transpose(1, 2, 0), spline_pieces(breaks)[of_group])
    return splines.reshape(groups, blocks, together, -1), piece_levels(breaks)[of_group]


def by_group(of_cells: FloatArray, groups: int) -> FloatArray:
    """Values of (blocks, bands) as (groups, blocks, cells of a group)."""
    return of_cells.reshape(len(of_cells), groups, -1).swapaxes(0, 1)


def block_system(
    design: FloatArray, columns: NDArray[np.intp], weight: FloatArray, value: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Normal matrix and right-hand side of every block.

    Parameters
    ----------
    design : ndarray, shape (groups, blocks, cells of a group, k)
    columns : ndarray, shape (groups, k)
        Unknown to which each column of the design belongs in each group.
    weight, value : ndarray, shape (blocks, groups x cells of a group)

    Returns
    -------
    normal : ndarray, shape (blocks, unknowns, unknowns)
    score : ndarray, shape (blocks, unknowns)
    """
    groups, size = len(design), int(columns.max()) + 1
    weighted = (design * by_group(weight, groups)[..., None]).swapaxes(2, 3)
    score = np.matmul(weighted, by_group(value, groups)[..., None])
    pairs = columns[:, :, None] * size + columns[:, None, :]
    normal = _gathered(np.matmul(weighted, design), pairs, size**2)
    return normal.reshape(-1, size, size), _gathered(score, columns, size)


def whole_system(
    design: FloatArray, columns: NDArray[np.intp], weight: FloatArray, value: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Normal matrix and right-hand side of all blocks together, as `block_system` has them."""
    groups, *_, splines = design.shape
    flat = (np.ascontiguousarray(by_group(a, groups)).reshape(1, -1) for a in (weight, value))
    together = design.reshape(groups, 1, -1, splines)
    normal, score = block_system(together, columns, *flat)
    return normal[0], score[0]


def _gathered(parts: FloatArray, place: NDArray[np.intp], size: int) -> FloatArray:
    """Sums, in each block, of the parts that belong to one place: (blocks, size)."""
    blocks = parts.shape[1]
    index = np.arange(blocks)[:, None] * size + place.reshape(len(place), 1, -1)
    sums = np.bincount(index.ravel(), parts.ravel(), blocks * size)
    return np.asarray(sums, dtype=float).reshape(blocks, size)
