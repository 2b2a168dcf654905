"""Several edges of one direction: one number where they agree, all of them where they do not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.edge.cautions import EdgesDisagree, EdgesSetApart, Runs
from dotloupe.measure.edge.edge_jackknife import COSINES, student
from dotloupe.measure.uncertainty import Uncertainty, student_quantile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.measure.edge.slanted import EdgeResponse

DISAGREEMENT = 0.05
"""Least relative difference in MTF50, beyond chance, at which an edge is set apart."""


@dataclass(frozen=True)
class CombinedEdges:
    """The edges of one direction taken together; every interval holds 95 %.

    Attributes
    ----------
    runs : {"vertical", "horizontal"}
        The direction the edges run in.
    frequency, mtf, mtf_low, mtf_high : ndarray, shape (m,)
        Mean MTF of the edges that agree, in cycles/mm.
    mtf50, mtf10, rise_um : float
        Means of the edges that agree; nan where no majority does.
    mtf50_interval, mtf10_interval, rise_um_interval : tuple of float
        With the differences between the edges in them; where no majority agrees, the range
        over the intervals of all edges.
    mtf50_uncertainty : Uncertainty or None
        In cycles/mm, from the error of the logarithm; None where no majority agrees.
    edges : tuple of EdgeResponse
        All of them, in the order given.
    apart : tuple of int
        Places in `edges` of those that disagree with the others and are not in the means; all
        of them where no majority agrees.
    camera_included : bool
    cautions : tuple of Caution
    """

    runs: Runs
    frequency: FloatArray
    mtf: FloatArray
    mtf_low: FloatArray
    mtf_high: FloatArray
    mtf50: float
    mtf50_interval: Interval
    mtf50_uncertainty: Uncertainty | None
    mtf10: float
    mtf10_interval: Interval
    rise_um: float
    rise_um_interval: Interval
    edges: tuple[EdgeResponse, ...]
    apart: tuple[int, ...]
    camera_included: bool
    cautions: tuple[Caution, ...]


def combine_edges(edges: Sequence[EdgeResponse]) -> CombinedEdges:
    """Combine the edges of one direction, setting apart those that disagree.

    Each edge is held against the weighted mean of the others: it stands apart where their
    MTF50 differ by more than chance allows and by more than 5 %. The worst goes first, until
    the rest agree. Where fewer than half agree there is no mean, only the edges.

    Parameters
    ----------
    edges : sequence of EdgeResponse
        At least one; all running in one direction, all with the camera in or all without.

    Returns
    -------
    CombinedEdges

    Raises
    ------
    RegionError
        If there is no edge, or they differ in direction or in whether the camera is included.

    Notes
    -----
    Weights and between-edge variance after DerSimonian and Laird, Control. Clin. Trials 7 (1986)
    177, degrees of freedom after Welch and Satterthwaite; both from memory.
    """
    edges = tuple(edges)
    if not edges:
        raise RegionError("no edges to combine; measure at least one")
    if len({edge.runs for edge in edges}) > 1:
        raise RegionError(
            "vertical and horizontal edges are never averaged; combine each by itself"
        )
    if len({edge.camera_included for edge in edges}) > 1:
        raise RegionError("some edges include the camera and some do not; measure all alike")
    kept, apart = _set_apart(edges)
    agree = 2 * len(kept) > len(edges)
    cautions = tuple(dict.fromkeys(caution for edge in edges for caution in edge.cautions))
    if not agree:
        cautions = (EdgesDisagree(tuple(edge.mtf50 for edge in edges)), *cautions)
        kept = apart = tuple(range(len(edges)))
    elif apart:
        at = tuple(edges[i].mtf50 for i in apart)
        cautions = (EdgesSetApart(tuple(i + 1 for i in apart), at), *cautions)
    chosen = [edges[i] for i in kept]
    frequency, curve = _mean_curve(chosen)
    numbers = {}
    for name in ("mtf50", "mtf10", "rise_um"):
        values = np.array([getattr(edge, name) for edge in chosen])
        intervals = np.array([getattr(edge, f"{name}_interval") for edge in chosen])
        numbers[name] = _pooled_ratio(values, intervals) if agree else _range(intervals)
    return CombinedEdges(
        runs=edges[0].runs,
        frequency=frequency,
        mtf=curve[0],
        mtf_low=curve[1],
        mtf_high=curve[2],
        mtf50=numbers["mtf50"][0],
        mtf50_interval=numbers["mtf50"][1],
        mtf50_uncertainty=numbers["mtf50"][2],
        mtf10=numbers["mtf10"][0],
        mtf10_interval=numbers["mtf10"][1],
        rise_um=numbers["rise_um"][0],
        rise_um_interval=numbers["rise_um"][1],
        edges=edges,
        apart=apart,
        camera_included=edges[0].camera_included,
        cautions=cautions,
    )


def _set_apart(edges: tuple[EdgeResponse, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Places of the edges that agree, and of those that do not."""
    value = np.log([edge.mtf50 for edge in edges])
    error = np.array([np.log(e.mtf50_interval[1] / e.mtf50_interval[0]) for e in edges])
    error = error / 2.0 / student()
    kept = [i for i in range(len(edges)) if np.isfinite(value[i])]
    while len(kept) > 1:
        score = []
        for i in kept:
            others = np.array([j for j in kept if j != i])
            weight = 1.0 / np.maximum(error[others], 1e-6) ** 2
            apart = abs(value[i] - float((weight * value[others]).sum() / weight.sum()))
            chance = student(0.025 / len(kept)) * float(np.hypot(error[i], weight.sum() ** -0.5))
            score.append(apart / max(chance, np.log1p(DISAGREEMENT)))
        worst = int(np.argmax(score))
        if score[worst] <= 1.0:
            break
        del kept[worst]
    return tuple(kept), tuple(i for i in range(len(edges)) if i not in kept)


def _pooled(value: FloatArray, error: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean over the first axis, its standard error and the degrees of freedom of that error.

    Differences between the edges are included.
    """
    count = len(value)
    error = np.maximum(error, 1e-9)
    weight = error**-2.0
    mean = (weight * value).sum(axis=0) / weight.sum(axis=0)
    excess = (weight * (value - mean) ** 2).sum(axis=0) - (count - 1)
    scale = weight.sum(axis=0) - (weight**2).sum(axis=0) / weight.sum(axis=0)
    between = np.where(scale > 0, np.maximum(excess, 0.0) / np.where(scale > 0, scale, 1.0), 0.0)
    weight = 1.0 / (error**2 + between)
    weight = weight / weight.sum(axis=0)
    mean = (weight * value).sum(axis=0)
    within_part = (weight**2 * error**2).sum(axis=0)
    between_part = (weight**2).sum(axis=0) * between
    freedom = (within_part + between_part) ** 2 / (
        within_part**2 / (COSINES * count) + between_part**2 / max(count - 1, 1)
    )
    return mean, np.sqrt(within_part + between_part), freedom


_Pooled: TypeAlias = tuple[float, Interval, Uncertainty | None]


def _pooled_ratio(value: FloatArray, intervals: FloatArray) -> _Pooled:
    error = np.log(intervals[:, 1] / intervals[:, 0]) / 2.0 / student()
    known = np.isfinite(value) & np.isfinite(error)
    if not known.all():
        return _range(intervals)
    mean, mean_error, degrees = _pooled(np.log(value), error)
    wide = student_quantile(degrees) * mean_error
    pooled = float(np.exp(mean))
    interval = (float(np.exp(mean - wide)), float(np.exp(mean + wide)))
    return pooled, interval, Uncertainty(pooled * float(mean_error), float(degrees))


def _range(interval: FloatArray) -> _Pooled:
    return float("nan"), (float(interval[:, 0].min()), float(interval[:, 1].max())), None


def _mean_curve(edges: Sequence[EdgeResponse]) -> tuple[FloatArray, FloatArray]:
    """Common frequencies, and the mean MTF with its interval as three rows."""
    highest = min(float(edge.frequency[-1]) for edge in edges)
    frequency = np.linspace(0.0, highest, 201)
    value = np.array([np.interp(frequency, e.frequency, e.mtf) for e in edges])
    high = np.array([np.interp(frequency, e.frequency, e.mtf_high) for e in edges])
    mean, mean_error, degrees = _pooled(value, (high - value) / student())
    wide = student_quantile(degrees) * mean_error
    return frequency, np.array([mean, np.clip(mean - wide, 0.0, None), mean + wide])
