"""Least squares of an edge's splines on its cells, block by block along the edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.cells import Cells
from dotloupe.measure.edge.spread_function import piece_levels, spline_pieces, spread_basis

WITHIN = 1.0 + 1e-9
"""Places in a knot interval go from -1 to 1, but for the rounding of means."""


def cell_splines(cells: Cells, breaks: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Splines at the cells, and the levels of the edge spread function they belong to.

    Cells that lie in one knot interval share their few splines. Where knots were put between
    the cells of an interval, all cells count as one group, in which every spline has its column.

    Returns
    -------
    splines : ndarray, shape (blocks, groups, cells of a group, splines)
    levels : ndarray, shape (groups, splines)
    """
    blocks, bands = cells.count.shape
    intervals = breaks.size - 1
    if bands % intervals == 0:
        distance = cells.distance.reshape(blocks, intervals, -1)
        low, high = breaks[:-1, None], breaks[1:, None]
        place = (2.0 * distance - (low + high)) / (high - low)
        if np.abs(place).max() <= WITHIN:
            square = place * place
            powers = np.stack([np.ones_like(place), place, square, square * place, square**2], -1)
            return np.matmul(powers, spline_pieces(breaks)), piece_levels(breaks)
    basis = spread_basis(breaks, cells.distance.ravel())
    return basis.reshape(blocks, 1, bands, -1), np.arange(basis.shape[1])[None, :]


def block_system(
    design: FloatArray, columns: NDArray[np.intp], weight: FloatArray, value: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Normal matrix and right-hand side of every block.

    Parameters
    ----------
    design : ndarray, shape (blocks, groups, cells of a group, k)
    columns : ndarray, shape (groups, k)
        Unknown to which each column of the design belongs in each group.
    weight, value : ndarray, shape (blocks, groups x cells of a group)

    Returns
    -------
    normal : ndarray, shape (blocks, unknowns, unknowns)
    score : ndarray, shape (blocks, unknowns)
    """
    cells, size = design.shape[:3], int(columns.max()) + 1
    weighted = (design * weight.reshape(cells)[..., None]).swapaxes(2, 3)
    score = np.matmul(weighted, value.reshape(*cells, 1))
    pairs = columns[:, :, None] * size + columns[:, None, :]
    normal = _gathered(np.matmul(weighted, design), pairs, size**2)
    return normal.reshape(-1, size, size), _gathered(score, columns, size)


def _gathered(parts: FloatArray, place: NDArray[np.intp], size: int) -> FloatArray:
    """Sums, in each block, of the parts that belong to one place: (blocks, size)."""
    blocks = len(parts)
    index = np.arange(blocks)[:, None] * size + place.ravel()
    sums = np.bincount(index.ravel(), parts.ravel(), blocks * size)
    return np.asarray(sums, dtype=float).reshape(blocks, size)
