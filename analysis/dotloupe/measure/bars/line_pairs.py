"""Contrast of a group of bars, and whether the bars that were drawn are the bars that are there.

Contrast is the modulation of a square wave's image, (max - min)/(max + min) in reflectance, as
the contrast transfer function of ISO/TR 20791-1:2020, clause 3, has it: image contrast over
object contrast for square waves. Without `levels` the object's contrast counts as one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.bars.cautions import (
    BarsInSpaces,
    BarsLostInGrain,
    BarsMiscounted,
    BarsOutOfPhase,
    ContrastTooLow,
    FewPixelsPerLinePair,
    PeriodDiffers,
)
from dotloupe.measure.bars.contrast import BarContrast, bar_contrast
from dotloupe.measure.bars.group import BarGroup, bar_group
from dotloupe.measure.bars.profile import dark_bars
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.measure.upright import upright_profiles

RESOLVED_CONTRAST = 0.10
"""Contrast from which a group of bars counts as resolved."""
LEAST_PERIOD_PX = 2.5
PHASE_TOLERANCE = 0.25
"""A bar farther than this from where it was drawn, in periods, lies nearer to a drawn space."""


@dataclass(frozen=True)
class LinePairs:
    """One group of bars at one frequency.

    Attributes
    ----------
    frequency : float
        Line pairs per mm that were asked for.
    contrast : float
        (max - min)/(max + min) of the bars, relative to the same of `levels` where given.
    contrast_interval : (float, float)
        Its 95 % interval, from blocks of rows along the bars.
    contrast_uncertainty : Uncertainty
        What that interval was made of.
    bars_found, bars_drawn : int
        Dark bars that stand out, and dark bars that were drawn there.
    resolved : bool
        Contrast over `threshold`, and the drawn bars there in number and phase.
    bars_match : bool
        The second half of that: the drawn bars are there, whatever their contrast.
    threshold : float
        The contrast that counts as resolved.
    modulation : float
        pi/4 of the contrast of the fundamental alone: the sine-wave modulation at this
        frequency, for comparison with an edge or with Coltman's series.
    frequency_found : float or None
        Line pairs per mm as they lie in the array; None where the bars are too weak to tell.
    phase_deg : float or None
        How far the bars found lie from the bars drawn, 360 degrees a period; None where neither
        paper around the group nor `first_bar_mm` says where they were drawn.
    tilt_deg : float
        Lean of the bars, positive where x (y for horizontal bars) grows along them.
    position_mm, profile : ndarray of shape (n,)
        Mean reflectance across the bars, to be drawn; position from the region's left (top) edge.
    drawn_mm : ndarray
        Centres of the bars drawn, on the same scale.
    cautions : tuple of Caution
        What a reader of the numbers should know; says why a group was refused.
    """

    frequency: float
    contrast: float
    contrast_interval: Interval
    contrast_uncertainty: Uncertainty
    bars_found: int
    bars_drawn: int
    resolved: bool
    bars_match: bool
    threshold: float
    modulation: float
    frequency_found: float | None
    phase_deg: float | None
    tilt_deg: float
    position_mm: FloatArray
    profile: FloatArray
    drawn_mm: FloatArray
    cautions: tuple[Caution, ...]


def line_pairs(
    reflectance: FloatArray,
    pixels_per_mm: float,
    frequency: float,
    *,
    bars: Literal["vertical", "horizontal"] = "vertical",
    threshold: float = RESOLVED_CONTRAST,
    bars_drawn: int | None = None,
    first_bar_mm: float | None = None,
    levels: tuple[float, float] | None = None,
) -> LinePairs:
    """Measure one group of equal dark bars and spaces.

    Parameters
    ----------
    reflectance : ndarray of shape (h, w)
        Linear reflectance of one group, with lighter paper around it or filled with bars from
        side to side; the bars may lean by up to two degrees.
    pixels_per_mm : float
        Sampling of the region.
    frequency : float
        Line pairs per mm as drawn, within about 1 % of what lies in the region.
    bars : {"vertical", "horizontal"}
        The direction in which the bars run.
    threshold : float
        Contrast from which a group counts as resolved.
    bars_drawn : int, optional
        Number of dark bars of the group; found from its extent where not given.
    first_bar_mm : float, optional
        Centre of the first bar as drawn, from the region's left (top) edge, at its middle row
        (column); taken from the extent of the group where not given.
    levels : (float, float), optional
        Reflectance of large light and dark areas of the same print; contrast is then relative to
        theirs.

    Returns
    -------
    LinePairs

    Raises
    ------
    RegionError
        No bars and no group in the region, less than two and a half pixels a line pair, fewer
        than two line pairs, or a region that cannot be measured at all.

    Notes
    -----
    The group is folded on its period, which gives what an endless series of its bars would
    show, and read at the centres of bars and spaces by its harmonics. Grain is not white, so
    the interval comes from leaving out one block of rows at a time (jackknife), with Student's t.
    """
    region = checked_region(reflectance, pixels_per_mm, what="line pairs")
    region = region.T if bars == "horizontal" else region
    _check_request(region, pixels_per_mm, frequency, bars)
    placed = first_bar_mm is not None
    group = bar_group(region, pixels_per_mm / frequency, bars_drawn, placed=placed)
    reading, comb = bar_contrast(group), group.comb
    first = group.first_bar if first_bar_mm is None else first_bar_mm * pixels_per_mm - 0.5
    drawn = _drawn_bars(group, reading, region.shape[1], first)
    position, profiles = upright_profiles(region, comb.slope, comb.middle, group.rows)
    period = 1 / comb.row_frequency
    between = (drawn[0] - period / 2, drawn[-1] + period / 2)
    found = dark_bars(position, profiles[0], period, between, reading.swing)
    phase = None if first is None else _phase(group, reading, first)
    scale = 1.0 if levels is None else 1 / _object_contrast(levels)
    contrast, error = reading.contrast * scale, reading.uncertainty.scaled(scale)
    faults = _bar_faults(drawn, found, period, phase)
    weak = () if contrast > threshold else (ContrastTooLow(contrast, threshold),)
    return LinePairs(
        frequency=float(frequency),
        contrast=contrast,
        contrast_interval=(contrast - error.half_width, contrast + error.half_width),
        contrast_uncertainty=error,
        bars_found=len(found),
        bars_drawn=len(drawn),
        resolved=not (faults or weak),
        bars_match=not faults,
        threshold=threshold,
        modulation=reading.modulation * scale,
        frequency_found=_per_mm(group.frequency_found, pixels_per_mm),
        phase_deg=phase,
        tilt_deg=math.degrees(math.atan(comb.slope)),
        position_mm=(position + 0.5) / pixels_per_mm,
        profile=profiles[0],
        drawn_mm=(drawn + 0.5) / pixels_per_mm,
        cautions=(*weak, *faults, *_cautions(group, reading, period)),
    )


def _check_request(region: FloatArray, pixels_per_mm: float, frequency: float, bars: str) -> None:
    if bars not in ("vertical", "horizontal"):
        raise RegionError(f"line pairs: bars run 'vertical' or 'horizontal', not {bars!r}.")
    if not (math.isfinite(frequency) and frequency > 0):
        raise RegionError(f"line pairs: frequency must be a positive number, not {frequency}.")
    period_px = pixels_per_mm / frequency
    if period_px < LEAST_PERIOD_PX:
        raise RegionError(
            f"line pairs: {period_px:.1f} pixels a line pair at {frequency:g} lp/mm, at least "
            f"{LEAST_PERIOD_PX} are needed; photograph closer."
        )
    if region.shape[1] < 2 * period_px:
        raise RegionError(
            f"line pairs: the region holds {region.shape[1] / period_px:.1f} line pairs at "
            f"{frequency:g} lp/mm, at least two are needed; take a larger region."
        )


def _object_contrast(levels: tuple[float, float]) -> float:
    light, dark = levels
    if not light > dark >= 0:
        raise RegionError(
            f"line pairs: levels {levels} must be a light and a darker reflectance, in this order."
        )
    return (light - dark) / (light + dark)


def _drawn_bars(
    group: BarGroup, reading: BarContrast, width: int, first: float | None
) -> FloatArray:
    """Columns of the centres of the bars drawn.

    Where the bars fill the region: of every bar with a space on both sides in it, at the known
    place or else where the bars found have their phase.
    """
    period = 1 / group.comb.row_frequency
    if group.bars is not None and first is not None:
        return np.asarray(first + period * np.arange(group.bars))
    start = group.comb.centre + reading.phase / (2 * np.pi) * period if first is None else first
    lowest = math.ceil((-0.5 - start) / period + 0.5)
    highest = math.floor((width - 0.5 - start) / period - 0.5)
    return np.asarray(start + period * np.arange(lowest, max(highest, lowest) + 1))


def _phase(group: BarGroup, reading: BarContrast, first: float) -> float:
    """Degrees from the bars drawn to the bars found, -180 to 180."""
    apart = (group.comb.centre - first) * group.comb.row_frequency
    if group.bars is not None:
        apart -= group.bars // 2
    turns = apart + reading.phase / (2 * math.pi)
    return 360.0 * (turns - round(turns))


def _bar_faults(
    drawn: FloatArray, found: FloatArray, period: float, phase: float | None
) -> tuple[Caution, ...]:
    """In what the bars found are not the bars drawn."""
    faults: list[Caution] = []
    if len(found) != len(drawn):
        faults.append(BarsMiscounted(len(found), len(drawn)))
    elif np.abs(found - drawn).max() > PHASE_TOLERANCE * period:
        faults.append(BarsInSpaces())
    if phase is not None and abs(phase) > 360 * PHASE_TOLERANCE:
        faults.append(BarsOutOfPhase(phase))
    return tuple(faults)


def _cautions(group: BarGroup, reading: BarContrast, period: float) -> tuple[Caution, ...]:
    cautions: list[Caution] = []
    if not reading.clear:
        cautions.append(BarsLostInGrain())
    if group.frequency_found is not None and abs(group.frequency_found * period - 1) > 0.03:
        cautions.append(PeriodDiffers())
    if period < 5:
        cautions.append(FewPixelsPerLinePair(period))
    return tuple(cautions)


def _per_mm(frequency: float | None, pixels_per_mm: float) -> float | None:
    return None if frequency is None else frequency * pixels_per_mm
