"""Up to which frequency a series of bar groups is resolved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dotloupe.arrays import BoolArray, FloatArray, Interval
from dotloupe.errors import RegionError
from dotloupe.measure.bars.line_pairs import LinePairs
from dotloupe.measure.level_crossing import reach
from dotloupe.measure.uncertainty import Uncertainty, normal_uncertainty
from dotloupe.units import MM_PER_INCH

EndedBy = Literal["contrast", "false resolution", "sent file", "groups", "nothing resolved"]


DRAWS = 4000


@dataclass(frozen=True)
class ResolvedLimit:
    """The limit of a series of groups in one direction.

    Attributes
    ----------
    limit : float or None
        Line pairs per mm where the contrast crosses the threshold, interpolated between groups;
        the highest group that counts where nothing can be interpolated; None where not even the
        lowest group is resolved.
    interval : (float, float)
        Its 95 % interval; 0 and infinity stand for below the lowest and above the highest group.
    uncertainty : Uncertainty or None
        The normal error of an interval as long as this one; None where the interval is open or
        there is no limit.
    ended_by : str
        "contrast": it crosses the threshold. "false resolution": the next group has contrast,
        but not the bars that were drawn. "sent file": the next group lies above the Nyquist
        frequency of the file, and the contrast has not crossed the threshold below it. "groups":
        every group is resolved, the limit lies higher. "nothing resolved": the limit lies below
        the lowest group.
    threshold : float
        Contrast that counts as resolved.
    frequency, contrast, contrast_low, contrast_high : ndarray of shape (n,)
        The groups, from the lowest frequency up.
    counted : ndarray of bool, shape (n,)
        Groups resolved with every group below them resolved too.
    nyquist : float or None
        Nyquist frequency of the file sent to the printer, in lp/mm.
    above_nyquist : tuple of float
        Frequencies of the groups that the file could not carry.
    """

    limit: float | None
    interval: Interval
    uncertainty: Uncertainty | None
    ended_by: EndedBy
    threshold: float
    frequency: FloatArray
    contrast: FloatArray
    contrast_low: FloatArray
    contrast_high: FloatArray
    counted: BoolArray
    nyquist: float | None
    above_nyquist: tuple[float, ...]


def sent_nyquist(sent_ppi: float) -> float:
    """Nyquist frequency in cycles/mm of a file sent at `sent_ppi`: half its pixels per mm."""
    return sent_ppi / MM_PER_INCH / 2


def resolved_limit(groups: Sequence[LinePairs], *, sent_ppi: float | None = None) -> ResolvedLimit:
    """Interpolate the limit of resolution of groups of one direction.

    Parameters
    ----------
    groups : sequence of LinePairs
        Groups of one direction, in any order, measured with one threshold.
    sent_ppi : float, optional
        Resolution of the file sent to the printer; a group above its Nyquist frequency never
        counts.

    Returns
    -------
    ResolvedLimit

    Raises
    ------
    RegionError
        No group, two groups of one frequency, or differing thresholds.

    Notes
    -----
    A group above one that is not resolved never counts. Contrast is interpolated linearly over
    the logarithm of the frequency. The interval is that of limits drawn anew, with each contrast
    varied as its own interval says.
    """
    ordered = sorted(groups, key=lambda g: g.frequency)
    _check(ordered, sent_ppi)
    frequency = np.array([g.frequency for g in ordered])
    contrast = np.array([g.contrast for g in ordered])
    low, high = np.array([g.contrast_interval for g in ordered]).T
    threshold = ordered[0].threshold
    nyquist = None if sent_ppi is None else sent_nyquist(sent_ppi)
    carried = frequency <= (np.inf if nyquist is None else nyquist)
    allowed = np.array([g.bars_match for g in ordered]) & carried
    drawn = _drawn([g.contrast_uncertainty for g in ordered]) + contrast
    ceiling = np.inf if nyquist is None else nyquist
    limit = reach(frequency, contrast[None], allowed, threshold, ceiling)[0]
    limits = reach(frequency, drawn, allowed, threshold, ceiling)
    counted = np.cumprod((contrast > threshold) & allowed).astype(bool)
    ended_by = _ended_by(contrast, counted, carried, threshold, reached=limit >= ceiling)
    interval = _interval(limits, frequency, counted, ended_by, ceiling)
    return ResolvedLimit(
        limit=float(limit) if counted[0] else None,
        interval=interval,
        uncertainty=normal_uncertainty(interval) if counted[0] else None,
        ended_by=ended_by,
        threshold=threshold,
        frequency=frequency,
        contrast=contrast,
        contrast_low=low,
        contrast_high=high,
        counted=counted,
        nyquist=nyquist,
        above_nyquist=tuple(float(f) for f in frequency[~carried]),
    )


def _drawn(errors: Sequence[Uncertainty]) -> FloatArray:
    """Errors of each group drawn anew by Student's t, shape (DRAWS, n)."""
    scale = np.array([e.standard_error for e in errors])
    degrees = np.array([e.degrees for e in errors])
    shape = (DRAWS, len(errors))
    return np.asarray(scale * np.random.default_rng(0).standard_t(degrees, shape))


def _check(groups: Sequence[LinePairs], sent_ppi: float | None) -> None:
    if not groups:
        raise RegionError("resolved limit: no group of bars was given.")
    if len({g.frequency for g in groups}) < len(groups):
        raise RegionError(
            "resolved limit: two groups have one frequency; give the groups of one direction."
        )
    if len({g.threshold for g in groups}) > 1:
        raise RegionError("resolved limit: the groups were measured with differing thresholds.")
    if sent_ppi is not None and not sent_ppi > 0:
        raise RegionError(f"resolved limit: sent ppi must be a positive number, not {sent_ppi}.")


def _ended_by(
    contrast: FloatArray,
    counted: BoolArray,
    carried: BoolArray,
    threshold: float,
    *,
    reached: bool,
) -> EndedBy:
    """Why the group after the last that counts does not; `reached`: the limit is the file's."""
    number = int(counted.sum())
    if number == len(counted):
        return "groups"
    if not carried[number] and (reached or contrast[number] > threshold):
        return "sent file"
    if contrast[number] > threshold:
        return "false resolution"
    return "contrast" if number else "nothing resolved"


def _interval(
    limits: FloatArray,
    frequency: FloatArray,
    counted: BoolArray,
    ended_by: EndedBy,
    ceiling: float,
) -> Interval:
    """Middle 95 % of the limits drawn, opened up to where the limit is bounded and not seen."""
    low, high = np.quantile(limits, [0.025, 0.975])
    number = int(counted.sum())
    if ended_by == "groups" or high >= frequency[-1]:
        return float(low), float("inf")
    if ended_by in ("false resolution", "nothing resolved"):
        high = max(high, frequency[number])
    if ended_by == "sent file":
        high = max(high, ceiling)
    return float(low), float(high)
