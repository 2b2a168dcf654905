"""Whether an eye can distinguish two settings, and from how far."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.prints import sample
from dotloupe.compare.visibility.print_images import print_visibility

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.compare.pairs import PairDifference
    from dotloupe.compare.prints import Sample
    from dotloupe.compare.visibility.picture_difference import PictureVisibility
    from dotloupe.compare.visibility.visible_steps import VisibleScale
    from dotloupe.measurement import Measurement

COMPARED = ("detail_x", "detail_y", "grain")
"""Criteria by which an eye is taken to distinguish two settings."""


class Visibility(StrEnum):
    """Whether a difference is visible from a distance."""

    VISIBLE = "visible"
    NOT_VISIBLE = "not visible"
    UNDECIDED = "undecided"


@dataclass(frozen=True)
class CriterionVisibility:
    """How well an eye distinguishes two settings by one criterion alone.

    Attributes
    ----------
    criterion : str
        Its name.
    steps : float
        Just visible steps between the two at the viewing distance; the two are distinguishable
        from there exactly where it is 1 or more.
    steps_interval : tuple of float
        At both ends of the difference's interval; 0 where the prints do not distinguish them.
    distance_mm : float
        Largest distance at which the difference measured could be seen; 0 for none, and never
        beyond 20 m.
    interval : tuple of float
        The same at both ends of the difference's interval.
    """

    criterion: str
    steps: float
    steps_interval: Interval
    distance_mm: float
    interval: Interval


@dataclass(frozen=True)
class PairVisibility:
    """From how far two settings could be distinguished by eye.

    It rests on a model of a keen eye in good light with both prints side by side, after Barten's
    contrast sensitivity.

    Attributes
    ----------
    setting, other : str
        The two.
    viewing_distance_mm : float
        Distance for which the steps hold.
    distance_mm : float
        Largest distance over all criteria.
    interval : tuple of float
        Its interval.
    by : tuple of CriterionVisibility
        Each criterion alone, the farthest first.
    picture : PictureVisibility or None
        The prints of the patch laid on each other: what differs in the same place of every print,
        in tone, colour or sharpness. Grain, which lies elsewhere in each, is not in it. None where
        the photographs are not at hand.
    """

    setting: str
    other: str
    viewing_distance_mm: float
    distance_mm: float
    interval: Interval
    by: tuple[CriterionVisibility, ...]
    picture: PictureVisibility | None


def visibility_at(interval: Interval, viewing_distance_mm: float) -> Visibility:
    """Whether a difference is visible, by both ends of the distance that it reaches.

    Parameters
    ----------
    interval : (float, float)
        95 % interval of the largest distance in mm at which the difference is visible.
    viewing_distance_mm : float
        Distance to judge for; between the two ends the visibility is undecided.

    Returns
    -------
    Visibility
    """
    low, high = interval
    if low >= viewing_distance_mm:
        return Visibility.VISIBLE
    return Visibility.NOT_VISIBLE if high < viewing_distance_mm else Visibility.UNDECIDED


def pair_visibility(
    measurements: Mapping[str, Sequence[Measurement]],
    differences: Mapping[str, PairDifference],
    scales: Mapping[str, VisibleScale],
    viewing_distance_mm: float,
) -> PairVisibility | None:
    """From how far two settings could be distinguished by their detail and grain.

    Parameters
    ----------
    measurements : mapping of str to sequence of Measurement
        The two settings with the photographs of their prints.
    differences : mapping of str to PairDifference
        Criterion to the difference of the two.
    scales : mapping of str to VisibleScale
        Criterion to its just visible steps.
    viewing_distance_mm : float
        Distance for which the steps are counted.

    Returns
    -------
    PairVisibility or None
        None where the two have neither detail nor grain in common.

    Notes
    -----
    The scales are those of "overall". The measured transfer of the edges and the noise power of
    the tints give their shape where the measurements hold them; else the Gaussian blur of the same
    MTF50, and even noise of the same visible grain on a mid tint.
    """
    setting, other = measurements
    found = [
        _criterion_visibility(measurements, differences[criterion], scales[criterion])
        for criterion in COMPARED
        if criterion in scales and criterion in differences
    ]
    if not found:
        return None
    by = tuple(sorted(found, key=lambda c: (-c.distance_mm, -c.steps)))
    return PairVisibility(
        setting=setting,
        other=other,
        viewing_distance_mm=viewing_distance_mm,
        distance_mm=by[0].distance_mm,
        interval=(max(c.interval[0] for c in by), max(c.interval[1] for c in by)),
        by=by,
        picture=print_visibility(measurements[setting], measurements[other]),
    )


def _criterion_visibility(
    measurements: Mapping[str, Sequence[Measurement]], pair: PairDifference, scale: VisibleScale
) -> CriterionVisibility:
    """Steps and distances for the difference measured and for both ends of its interval."""
    samples = [sample(s, measurements[s], scale.criterion) for s in (pair.setting, pair.other)]
    between = np.abs(_mean_steps(scale, samples[0]) - _mean_steps(scale, samples[1]))
    middle = float(np.mean([s.mean for s in samples if s]))
    low, high = np.zeros_like(between), np.full_like(between, np.inf)
    if pair.low is not None and pair.high is not None:
        nearest, farthest = sorted((abs(pair.low), abs(pair.high)))
        if pair.low * pair.high > 0:
            low = np.minimum(_steps_between(scale, middle, nearest), between)
        high = np.maximum(_steps_between(scale, middle, farthest), between)
    steps = [float(curve[scale.viewing]) for curve in (between, low, high)]
    reach = [scale.reach_mm(curve) for curve in (between, low, high)]
    return CriterionVisibility(
        scale.criterion, steps[0], (steps[1], steps[2]), reach[0], (reach[1], reach[2])
    )


def _mean_steps(scale: VisibleScale, prints: Sample | None) -> FloatArray:
    if prints is None:
        return np.zeros(len(scale.distances_mm))
    return np.asarray(np.mean([scale.curve(v) for v in prints.values], axis=0))


def _steps_between(scale: VisibleScale, middle: float, difference: float) -> FloatArray:
    """Steps between two values that far from each other about `middle`, at every distance."""
    ends = (middle - difference / 2, middle + difference / 2)
    return np.abs(scale.curve(ends[1]) - scale.curve(ends[0]))
