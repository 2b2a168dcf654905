"""The samples around an edge, summed into narrow cells of distance and blocks along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.edge.position import EdgeCurve, pixels_around

TOO_SHARP = (
    "too few pixels lie on the edge, which is far sharper than they are wide; "
    "photograph closer, or tilt the edge more"
)
FEWEST_OF_A_TONE = 20
"""A variance is taken from more samples than this."""


@dataclass(frozen=True)
class Cells:
    """Sums of the samples in narrow bands of distance, in blocks along the edge.

    Each cell keeps the mean distance of its own samples, so narrow bands lose nothing.

    Attributes
    ----------
    count, distance, value, scatter, along : ndarray, shape (blocks, bands)
        Number of samples, their mean distance in pixels, mean value, summed squares about that
        mean, and mean place along the edge (-1 .. 1). Cells with no sample have count 0.
    """

    count: FloatArray
    distance: FloatArray
    value: FloatArray
    scatter: FloatArray
    along: FloatArray


def gather_cells(region: FloatArray, curve: EdgeCurve, edges: FloatArray, blocks: int) -> Cells:
    """Sum the pixels around the curve into cells between the distances `edges`."""
    distance, value = pixels_around(region, curve, max(-edges[0], edges[-1]))
    rows, bands = np.arange(len(region)), edges.size + 1
    key = np.searchsorted(edges, distance, side="right")
    key += (rows * blocks // rows.size * bands)[:, None]
    key = key.ravel()

    def total(weights: FloatArray | None) -> FloatArray:
        """Sums without what lies beyond the outermost edges."""
        flat = None if weights is None else weights.ravel()
        sums = np.bincount(key, flat, blocks * bands).reshape(blocks, bands)
        return sums[:, 1:-1].astype(float)

    along = np.broadcast_to(curve.along(rows.astype(float))[:, None], distance.shape)
    count = total(None)
    safe = np.maximum(count, 1.0)
    mean = total(value) / safe
    middle = np.broadcast_to(0.5 * (edges[:-1] + edges[1:]), count.shape)
    return Cells(
        count=count,
        distance=np.where(count > 0, total(distance) / safe, middle),
        value=mean,
        scatter=np.maximum(total(value**2) - count * mean**2, 0.0),
        along=total(along) / safe,
    )


def cell_edges(breaks: FloatArray, cells: int = 12) -> FloatArray:
    """Divide every knot interval into so many equal bands."""
    inner = np.diff(breaks)[:, None] * np.arange(cells)[None, :] / cells + breaks[:-1, None]
    return np.append(inner.ravel(), breaks[-1])


def tone_weights(cells: Cells, fitted: FloatArray, levels: tuple[float, float]) -> FloatArray:
    """Weight of each cell: its count over the variance of its tone.

    Noise in a print and in a camera goes with tone; a parabola in the share of the step joins
    the variances seen on the two plateaus and on the edge.

    Parameters
    ----------
    cells : Cells
    fitted : ndarray, shape (blocks, bands)
        Edge spread function at the cells.
    levels : tuple of float
        Its first and last plateau.

    Raises
    ------
    RegionError
        The edge has grown so narrow that hardly a sample is left.
    """
    step = levels[1] - levels[0]
    residual = cells.scatter + cells.count * (cells.value - fitted) ** 2
    share = (fitted - levels[0]) / step
    floor = (1e-4 * step) ** 2
    zones = np.array([share <= 0.1, (share >= 0.25) & (share <= 0.75), share >= 0.9], dtype=float)
    count, total = (np.tensordot(zones, a, axes=2) for a in (cells.count, residual))
    variances = np.where(count > FEWEST_OF_A_TONE, total / np.maximum(count, 1.0), np.nan)
    if np.isnan(variances).all():
        raise RegionError(TOO_SHARP)
    variances[np.isnan(variances)] = np.nanmean(variances)
    left, middle, right = np.maximum(variances, floor)
    u = np.clip(share, 0.0, 1.0)
    parabola = left * (1 - u) * (1 - 2 * u) + 4 * middle * u * (1 - u) + right * u * (2 * u - 1)
    return cells.count / np.maximum(parabola, 0.3 * min(left, middle, right))


def gap_between_samples(cells: Cells) -> float:
    """Widest gap between neighbouring cells in the inner half of the span, in pixels."""
    used = cells.count.sum(axis=0) > 0
    inner = np.nonzero(used)[0]
    quarter = inner.size // 4
    inner = inner[quarter : inner.size - quarter]
    place = (cells.count * cells.distance).sum(axis=0)[inner] / cells.count.sum(axis=0)[inner]
    return float(np.diff(place).max()) if place.size > 1 else float("inf")
