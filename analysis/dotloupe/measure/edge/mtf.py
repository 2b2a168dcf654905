"""From the edge spread function to the modulation transfer function, without differences."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.measure.camera_mtf import CAMERA_FLOOR, CameraCurve
from dotloupe.measure.edge.cautions import (
    CrossingNotMeasured,
    MtfEndsEarly,
    ReferenceRunsOtherwise,
    Runs,
    TailContinued,
)
from dotloupe.measure.edge.edge_jackknife import standard_error, student
from dotloupe.measure.edge.joint_fit import EdgeFit
from dotloupe.measure.edge.spread_function import DEGREE, extended_knots, local_basis
from dotloupe.measure.edge.tails import Tail, inverse_square_tail
from dotloupe.measure.level_crossing import falls_below

NODES, NODE_WEIGHTS = np.polynomial.legendre.leggauss(8)
"""Of Gauss's rule over at most one cycle at a time."""
TOGETHER = 16
"""Frequencies whose turns follow from those of one by the same few turns."""


def line_spread_transform(breaks: FloatArray, frequency: FloatArray) -> FloatArray:
    """Fourier transforms of the unit-area splines that make up a line spread function.

    The derivative of a spline edge is a sum of cubic splines of unit area, weighted by the
    differences of its levels; their transforms come from Gauss-Legendre quadrature on every
    knot interval. There is no difference filter and no bin to correct for.

    Parameters
    ----------
    breaks : ndarray, shape (n + 1,)
        Knots in pixels.
    frequency : ndarray, shape (m,)
        Cycles per pixel, in even steps from 0.

    Returns
    -------
    ndarray, shape (m, n - 3), complex
        Multiply by `numpy.diff(levels)` for the transform of the line spread function.
    """
    length = np.diff(breaks)
    count = np.maximum(1, np.ceil(length * frequency[-1])).astype(int)
    number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    half = np.repeat(0.5 * length / count, count)
    middle = np.repeat(breaks[:-1], count) + (2 * number + 1) * half
    place = (middle[:, None] + half[:, None] * NODES).ravel()
    weight = (half[:, None] * NODE_WEIGHTS).ravel()
    knots = extended_knots(breaks)[1:-1]
    first, values = local_basis(knots, DEGREE - 1, place)
    full = np.zeros((place.size, knots.size - DEGREE))
    for i in range(DEGREE):
        full[np.arange(place.size), first + i] = values[i] * weight
    area = (knots[DEGREE:] - knots[:-DEGREE]) / DEGREE
    inner = slice(DEGREE - 1, 1 - DEGREE)
    pieces = (full / area)[:, inner]
    # Every frequency is the sum of one of the first few and one of every so many.
    few, many = frequency[:TOGETHER], frequency[::TOGETHER]
    fine, coarse = (np.exp(-2j * np.pi * np.outer(f, place)) for f in (few, many))
    turns = (coarse[:, None] * fine).reshape(-1, place.size)[: frequency.size]
    return np.asarray(turns.real @ pieces + 1j * (turns.imag @ pieces))


def modulation(fit: EdgeFit, frequency: FloatArray, tail: Tail) -> tuple[FloatArray, FloatArray]:
    """MTF, 1 at zero frequency, and the MTF without each block of the edge in turn.

    Noise across the phase can only lengthen a modulus. Its variance, seen by leaving out
    blocks, is taken off the square, so that noise does not pass for detail.

    Parameters
    ----------
    fit : EdgeFit
    frequency : ndarray, shape (m,)
        Cycles per pixel.
    tail : Tail
        What goes on beyond the window of the fit.

    Returns
    -------
    mtf : ndarray, shape (m,)
    every : ndarray, shape (blocks, m)
    """
    transform = line_spread_transform(fit.spread.breaks, frequency)
    beyond = tail.transform(frequency) if tail.strength else np.zeros(frequency.shape)
    mass = 1.0 / tail.left + 1.0 / tail.right

    def of(levels: FloatArray, strength: FloatArray) -> FloatArray:
        share = np.diff(levels, axis=-1)
        share = share / share.sum(axis=-1, keepdims=True)
        outside = np.expand_dims(strength, -1)
        return np.asarray((share @ transform.T + outside * beyond) / (1.0 + outside * mass))

    whole, every = of(fit.spread.levels, np.asarray(tail.strength)), of(fit.levels, tail.every)
    length = np.abs(whole)
    phase = whole / np.where(length > 0, length, 1.0)
    across = standard_error((every * phase.conj()).imag)
    return np.sqrt(np.maximum(length**2 - across**2, 0.0)), np.abs(every)


@dataclass(frozen=True, kw_only=True)
class EdgeTransfer:
    """MTF of one edge; every interval holds 95 %.

    Attributes
    ----------
    frequency : ndarray, shape (m,)
        Cycles/mm along the normal of the edge.
    mtf, mtf_low, mtf_high : ndarray, shape (m,)
        Modulation transfer and its pointwise interval.
    mtf_error : ndarray, shape (m,)
        Standard error of `mtf`.
    mtf50, mtf10 : float
        Frequencies in cycles/mm at which the MTF first falls below 0.5 and 0.1; nan where it
        stays above.
    camera_included : bool
        True unless a camera response was divided out of the MTF.
    """

    frequency: FloatArray
    mtf: FloatArray
    mtf_error: FloatArray
    mtf_low: FloatArray
    mtf_high: FloatArray
    mtf50: float
    mtf50_interval: Interval
    mtf10: float
    mtf10_interval: Interval
    camera_included: bool


def edge_transfer(
    fit: EdgeFit, pixels_per_mm: float, camera: CameraCurve | None, runs: Runs
) -> tuple[EdgeTransfer, tuple[Caution, ...]]:
    """MTF of a fitted edge, divided by the camera's where one is given.

    Parameters
    ----------
    fit : EdgeFit
    pixels_per_mm : float
    camera : CameraCurve or None
        Its error joins that of the edge; the division ends where it falls to 0.2.
    runs : {"vertical", "horizontal"}
        The direction the edge runs in.

    Returns
    -------
    EdgeTransfer
    tuple of Caution
    """
    highest = min(1.0, 0.8 / fit.width.finest) * pixels_per_mm
    cautions: list[Caution] = []
    if camera is not None and camera.reach < highest:
        highest = camera.reach
        cautions.append(MtfEndsEarly(highest, CAMERA_FLOOR))
    frequency = np.linspace(0.0, highest, 201)
    tail = inverse_square_tail(fit)
    if tail.strength:
        cautions.append(TailContinued())
    mtf, every = modulation(fit, frequency / pixels_per_mm, tail)
    camera_error = np.zeros_like(mtf)
    if camera is not None:
        if camera.runs not in (None, runs):
            cautions.append(ReferenceRunsOtherwise(str(camera.runs), runs))
        passed = np.interp(frequency, camera.frequency, camera.mtf)
        camera_error = np.interp(frequency, camera.frequency, camera.error) / passed
        mtf, every = mtf / passed, every / passed
    own_error, camera_error = standard_error(every), camera_error * mtf
    wide = np.hypot(student() * own_error, student() * camera_error)
    mtf50, mtf50_interval = _crossing(frequency, mtf, wide, 0.5)
    mtf10, mtf10_interval = _crossing(frequency, mtf, wide, 0.1)
    cautions += [
        CrossingNotMeasured(level) for level, at in ((0.5, mtf50), (0.1, mtf10)) if np.isnan(at)
    ]
    transfer = EdgeTransfer(
        frequency=frequency,
        mtf=mtf,
        mtf_error=np.hypot(own_error, camera_error),
        mtf_low=np.clip(mtf - wide, 0.0, None),
        mtf_high=mtf + wide,
        mtf50=mtf50,
        mtf50_interval=mtf50_interval,
        mtf10=mtf10,
        mtf10_interval=mtf10_interval,
        camera_included=camera is None,
    )
    return transfer, tuple(cautions)


def _crossing(
    frequency: FloatArray, mtf: FloatArray, wide: FloatArray, target: float
) -> tuple[float, Interval]:
    """Frequency where the MTF falls below the target, its interval by the slope there."""
    value = float(falls_below(frequency, mtf, target))
    if np.isnan(value):
        least = float(falls_below(frequency, mtf - wide, target))
        return value, (float(frequency[-1]) if np.isnan(least) else least, float("inf"))
    slope = np.interp(value, frequency[1:], np.gradient(mtf, frequency)[1:])
    relative = float(np.interp(value, frequency, wide)) / max(abs(slope) * value, 1e-12)
    return value, (value * float(np.exp(-relative)), value * float(np.exp(relative)))
