"""Edges of one direction as one response, with those that disagree named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from dotloupe.arrays import FloatArray, Interval
from dotloupe.errors import RegionError
from dotloupe.measure.edge import EdgeResponse

NORMAL_95 = 1.959964
DISAGREES = 0.01
"""Chance below which edges that differ so much are said to disagree."""
SHOWN_APART = 3.0
"""Standard errors from the others at which an edge is named."""


@dataclass(frozen=True)
class CombinedEdges:
    """What the edges of one direction say together.

    Attributes
    ----------
    frequency : ndarray, shape (m,)
        Cycles/mm normal to the edges.
    mtf, mtf_low, mtf_high : ndarray, shape (m,)
        Weighted mean of the edges' MTF and its pointwise 95 % interval.
    mtf50, mtf10 : float
        Weighted geometric means of the edges' own.
    mtf50_interval, mtf10_interval : (float, float)
        95 %; wider than the edges' own intervals give where the edges differ by more.
    edges : tuple of EdgeResponse
        All of them, none left out.
    agreement : float
        Chance of edges that differ at least so much if all were alike (1 for a single edge).
    apart : tuple of int
        Indices of edges that lie more than three standard errors from the others.
    flags : tuple of str
    """

    frequency: FloatArray
    mtf: FloatArray
    mtf_low: FloatArray
    mtf_high: FloatArray
    mtf50: float
    mtf50_interval: Interval
    mtf10: float
    mtf10_interval: Interval
    edges: tuple[EdgeResponse, ...]
    agreement: float
    apart: tuple[int, ...]
    flags: tuple[str, ...]


def combine_edges(edges: Sequence[EdgeResponse]) -> CombinedEdges:
    """Combine edges of one direction and tone.

    Parameters
    ----------
    edges : sequence of EdgeResponse

    Returns
    -------
    CombinedEdges
        The mean weighted by what each edge knows. Where edges differ by more than their own
        intervals allow, the interval is widened by the ratio (Birge 1932, from memory), and the
        edges that stand apart are named; none is left out.

    Raises
    ------
    RegionError
        Without an edge.
    """
    if not edges:
        raise RegionError("there is no edge to combine; measure one at least")
    logs = np.log([e.mtf50 for e in edges])
    errors = np.array([_log_error(e.mtf50_interval) for e in edges])
    weights = errors**-2 / np.sum(errors**-2)
    chi_square = float(np.sum(((logs - weights @ logs) / errors) ** 2))
    freedom = len(edges) - 1
    widening = max(1.0, (chi_square / freedom) ** 0.5) if freedom else 1.0
    agreement = float(chdtrc(freedom, chi_square)) if freedom else 1.0
    apart = _apart(logs, errors)
    frequency, mtf, half = _mean_curve(edges, weights, widening)
    mtf50, mtf50_interval = _mean(logs, errors, weights, widening)
    log10 = np.log([e.mtf10 for e in edges])
    errors10 = np.array([_log_error(e.mtf10_interval) for e in edges])
    mtf10, mtf10_interval = _mean(log10, errors10, weights, widening)
    flags = tuple(dict.fromkeys(flag for e in edges for flag in e.flags))
    if agreement < DISAGREES:
        flags = (*flags, f"edges disagree (chance {agreement:.1g}): look at each")
    return CombinedEdges(
        frequency=frequency,
        mtf=mtf,
        mtf_low=mtf - half,
        mtf_high=mtf + half,
        mtf50=mtf50,
        mtf50_interval=mtf50_interval,
        mtf10=mtf10,
        mtf10_interval=mtf10_interval,
        edges=tuple(edges),
        agreement=agreement,
        apart=apart,
        flags=flags,
    )


def _log_error(interval: Interval) -> float:
    return float(np.log(interval[1] / interval[0])) / (2 * NORMAL_95)


def _mean(
    logs: FloatArray, errors: FloatArray, weights: FloatArray, widening: float
) -> tuple[float, Interval]:
    """Weighted geometric mean and its 95 % interval."""
    middle = float(weights @ logs)
    half = NORMAL_95 * widening * float(np.sqrt(np.sum((weights * errors) ** 2)))
    return float(np.exp(middle)), (float(np.exp(middle - half)), float(np.exp(middle + half)))


def _apart(logs: FloatArray, errors: FloatArray) -> tuple[int, ...]:
    """Edges far from the weighted mean of the others."""
    found = []
    for i in range(len(logs) if len(logs) > 2 else 0):
        others = np.arange(len(logs)) != i
        weight = errors[others] ** -2
        mean = weight @ logs[others] / weight.sum()
        if abs(logs[i] - mean) > SHOWN_APART * np.sqrt(errors[i] ** 2 + 1 / weight.sum()):
            found.append(i)
    return tuple(found)


def _mean_curve(
    edges: Sequence[EdgeResponse], weights: FloatArray, widening: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Frequencies that all edges reach, the mean MTF there and half its 95 % interval."""
    reach = min(float(e.frequency[-1]) for e in edges)
    frequency = edges[0].frequency[edges[0].frequency <= reach]
    curves = np.array([np.interp(frequency, e.frequency, e.mtf) for e in edges])
    halves = np.array(
        [np.interp(frequency, e.frequency, (e.mtf_high - e.mtf_low) / 2) for e in edges]
    )
    half = widening * np.sqrt(np.sum((weights[:, None] * halves) ** 2, axis=0))
    return frequency, weights @ curves, half
