"""Where the knots of an edge spread function go: graded by its width, halved where it asks."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge_cells import Cells, gap_between_samples
from dotloupe.measure.edge_resample import left_out, pooled_error
from dotloupe.measure.edge_spread import spread_basis

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


def tail_breaks(inner: FloatArray, low: float, high: float, growth: float) -> FloatArray:
    """The inner knots continued to both ends of the window, ever wider."""
    left = -_continued(-inner[::-1], -low, growth)[::-1]
    right = _continued(inner, high, growth)
    return np.concatenate([left, inner, right])


def _continued(breaks: FloatArray, end: float, growth: float) -> FloatArray:
    last, spacing = float(breaks[-1]), float(breaks[-1] - breaks[-2])
    if end - last < 0.5 * spacing:
        return np.empty(0)
    places = [last]
    while places[-1] < end:
        places.append(places[-1] + spacing + growth * (places[-1] - last))
    if places[-1] - end > 0.5 * (places[-1] - places[-2]) and len(places) > 2:
        places.pop()
    further = np.array(places[1:])
    return np.asarray(last + (further - last) * (end - last) / (further[-1] - last))


def knots_asked_for(
    cells: Cells, breaks: FloatArray, window: FloatArray, weight: FloatArray
) -> FloatArray:
    """Add the knots without which a spline misses something the edge shows.

    Each round offers a spline with twice the knots inside and, outside, the knots of the
    window's tails. An interval in which it departs from the present one is halved, a tail in
    which it does is taken in. A departure is judged by leaving out blocks along the edge: grain
    that is correlated across the edge does not pass for structure, a second step or a sharp
    shoulder does.

    Parameters
    ----------
    cells : Cells
    breaks : ndarray
        Knots to start from; the spline is level outside them.
    window : ndarray
        Knots over the whole window, `breaks` among them.
    weight : ndarray, shape (blocks, bands)
    """
    smallest = max(0.07, 1.2 * gap_between_samples(cells))
    for _ in range(5):
        left, right = window[window < breaks[0]], window[window > breaks[-1]]
        spanned = np.concatenate([left, breaks, right])
        width, middle = np.diff(spanned), 0.5 * (spanned[:-1] + spanned[1:])
        inside = (middle > breaks[0]) & (middle < breaks[-1])
        may = inside & (width >= 2.0 * smallest)
        fine = np.sort(np.concatenate([spanned, middle[may]]))
        if fine.size == breaks.size:
            break
        probe = (spanned[:-1, None] + width[:, None] * np.array([0.17, 0.5, 0.83])).ravel()
        departure, error, step = _departure(cells, breaks, fine, weight, probe)
        least = np.maximum(SEEN * error, SMALLEST_DEPARTURE * step)
        seen = (np.abs(departure) > least).reshape(-1, 3).any(axis=1)
        asked = [breaks, middle[seen & may]]
        asked += [left] if seen[middle < breaks[0]].any() else []
        asked += [right] if seen[middle > breaks[-1]].any() else []
        more = np.sort(np.concatenate(asked))
        if more.size == breaks.size:
            break
        breaks = more
    return breaks


def _departure(
    cells: Cells, coarse: FloatArray, fine: FloatArray, weight: FloatArray, probe: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Fine minus coarse spline fit at `probe`, its jackknife error, and the step."""
    blocks, bands = cells.count.shape
    basis = spread_basis(fine, cells.distance.ravel()).reshape(blocks, bands, -1)
    weighted = (basis * weight[:, :, None]).transpose(0, 2, 1)
    normal = np.matmul(weighted, basis)
    score = np.matmul(weighted, cells.value[:, :, None])[:, :, 0]
    everywhere = np.linspace(fine[0], fine[-1], 4 * fine.size)
    nested = np.linalg.lstsq(
        spread_basis(fine, everywhere), spread_basis(coarse, everywhere), rcond=None
    )[0]
    whole, without = left_out(normal, score)
    coarse_normal = np.matmul(nested.T, np.matmul(normal, nested))
    coarse_whole, coarse_without = left_out(coarse_normal, score @ nested)
    at_probe = spread_basis(fine, probe)
    departure = at_probe @ (whole - nested @ coarse_whole)
    replicates = (without - coarse_without @ nested.T) @ at_probe.T
    return departure, pooled_error(replicates), abs(float(whole[-1] - whole[0]))
