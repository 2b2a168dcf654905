"""Three independent readings of detail on one scale: slanted edges, bars, a known texture."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.bars import coltman
from dotloupe.measure.camera_mtf import Camera, camera_curve

if TYPE_CHECKING:
    from dotloupe.measure.bars import ResolvedLimit
    from dotloupe.measure.edge import CombinedEdges
    from dotloupe.measure.texture import DirectionTransfer

ReadingName: TypeAlias = Literal["edges", "bars", "texture"]
READINGS: tuple[ReadingName, ...] = ("edges", "bars", "texture")

COMPARED = (0.3, 0.9)
"""Modulation of the edges between which readings are compared: above it all must agree, below it
little is left to tell apart."""
LEAST_PARTED = 0.05
"""Least difference in modulation, beyond chance, at which readings part."""


@dataclass(frozen=True)
class Reading:
    """Modulation kept, by one way of reading it.

    Attributes
    ----------
    frequency : ndarray of shape (n,)
        Cycles/mm.
    modulation, low, high : ndarray of shape (n,)
        Share of the sent modulation that is kept, with its 95 % interval.
    """

    frequency: FloatArray
    modulation: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True)
class Parting:
    """How the readings stand to each other where the edges lose from a tenth to most.

    Attributes
    ----------
    order : tuple of str
        Readings, the one that keeps most first.
    mean, half : tuple of float
        Their mean modulation over the frequencies compared and half of its 95 % interval, in that
        order.
    frequencies : (float, float)
        From where to where they were compared, cycles/mm.
    parted : tuple of bool
        Whether each one but the last keeps more than the next, beyond chance and by a twentieth.
    """

    order: tuple[ReadingName, ...]
    mean: tuple[float, ...]
    half: tuple[float, ...]
    frequencies: tuple[float, float]
    parted: tuple[bool, ...]


def edges_reading(edges: CombinedEdges) -> Reading:
    """Modulation by the edges of one direction, as far as it is known."""
    known = np.isfinite(edges.mtf) & np.isfinite(edges.mtf_low) & np.isfinite(edges.mtf_high)
    parts = (edges.frequency, edges.mtf, edges.mtf_low, edges.mtf_high)
    return Reading(*(np.asarray(part)[known] for part in parts))


def bars_reading(limit: ResolvedLimit, camera: Camera | None = None) -> Reading | None:
    """Modulation by the bars of one direction, through Coltman's series.

    Only groups that count as resolved are kept; None where there are not two groups to begin with.
    """
    if len(limit.frequency) < 2:
        return None
    half = (limit.contrast_high - limit.contrast_low) / 2
    sine = coltman(limit.frequency, limit.contrast, half)
    kept = np.asarray(limit.counted, dtype=bool)
    parts = (sine.frequency, sine.modulation, sine.modulation_low, sine.modulation_high)
    return _without(camera, Reading(*(part[kept] for part in parts)))


def texture_reading(direction: DirectionTransfer, camera: Camera | None = None) -> Reading:
    """Modulation of the texture along one axis, up to where it no longer follows the file."""
    reach = np.inf if direction.kept is None else direction.kept
    kept = (direction.frequency <= reach) & np.isfinite(direction.transfer)
    parts = (
        direction.frequency,
        direction.transfer,
        direction.transfer_low,
        direction.transfer_high,
    )
    return _without(camera, Reading(*(part[kept] for part in parts)))


def parting(readings: dict[ReadingName, Reading]) -> Parting | None:
    """Compare readings over the frequencies that all of them know; None where these are none.

    Parameters
    ----------
    readings : dict of str to Reading
        The edges, and at least one other.

    Notes
    -----
    Means over frequency are compared, with intervals as wide as those of single frequencies:
    neighbouring frequencies of one print share their errors.
    """
    if "edges" not in readings or len(readings) < 2:
        return None
    edges = readings["edges"]
    low = max(float(r.frequency[0]) if r.frequency.size else np.inf for r in readings.values())
    high = min(float(r.frequency[-1]) if r.frequency.size else 0.0 for r in readings.values())
    told = (edges.modulation >= COMPARED[0]) & (edges.modulation <= COMPARED[1])
    at = edges.frequency[told & (edges.frequency >= low) & (edges.frequency <= high)]
    if not at.size:
        return None
    mean = {name: _mean_at(at, r.frequency, r.modulation) for name, r in readings.items()}
    half = {name: _mean_at(at, r.frequency, r.high - r.low) / 2 for name, r in readings.items()}
    order = tuple(sorted(readings, key=lambda name: -mean[name]))
    parted = tuple(
        mean[a] - mean[b] > max(LEAST_PARTED, float(np.hypot(half[a], half[b])))
        for a, b in pairwise(order)
    )
    means, halves = (tuple(of[name] for name in order) for of in (mean, half))
    return Parting(order, means, halves, (float(at[0]), float(at[-1])), parted)


def _mean_at(at: FloatArray, frequency: FloatArray, value: FloatArray) -> float:
    return float(np.interp(at, frequency, value).mean())


def _without(camera: Camera | None, reading: Reading) -> Reading:
    """Take the camera out of a reading, as far as the camera holds enough."""
    if camera is None:
        return reading
    curve = camera_curve(camera)
    kept = reading.frequency <= curve.reach
    passed = np.interp(reading.frequency[kept], curve.frequency, curve.mtf)
    parts = (reading.modulation, reading.low, reading.high)
    return Reading(reading.frequency[kept], *(part[kept] / passed for part in parts))
