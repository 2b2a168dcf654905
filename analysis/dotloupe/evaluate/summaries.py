"""From the elements of a patch to the numbers that settings are compared by."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from dotloupe.arrays import Interval
from dotloupe.evaluate.elements import AXES, Readings
from dotloupe.measure import Uncertainty
from dotloupe.measure.bars import LinePairs, ResolvedLimit, resolved_limit
from dotloupe.measure.dots import Dots
from dotloupe.measure.edge import CombinedEdges, EdgeResponse, combine_edges
from dotloupe.measure.grain import Grain, GrainSummary, summarise_grain
from dotloupe.measure.texture import Transfer, as_sent, half_response
from dotloupe.measurement import Placement
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.patch import Axis
from dotloupe.registration import ShownPatch

HEADLINE_TONE = "mid"
FEWEST_EDGES = 2
"""Edges that a part must show for a number of their direction: single edges of a coarse halftone
differ by a tenth from each other, and one does not tell by how much."""
Together = TypeVar("Together")


@dataclass(frozen=True)
class Summary(Generic[Together]):
    """Numbers of one kind of element, its elements taken together, and why some have none."""

    numbers: dict[str, Number]
    together: Together
    faults: dict[str, str]


def summarise_edges(
    shown: ShownPatch, edges: Readings[EdgeResponse]
) -> Summary[dict[str, CombinedEdges]]:
    """Combine the edges of each direction and tone; the mid-tone ones are the headline."""
    numbers: dict[str, Number] = {}
    combined: dict[str, CombinedEdges] = {}
    faults = dict(edges.faults)
    for axis in AXES:
        regions = [r for r in shown.regions("edge", axis) if r.name in edges.results]
        for tone in dict.fromkeys(r.tone for r in regions):
            said = "" if tone == HEADLINE_TONE else tone
            measurand = Measurand(Quantity.DETAIL, axis, tone=said)
            name = measurand.name
            found = [edges.results[r.name] for r in regions if r.tone == tone]
            if len(found) < FEWEST_EDGES and not shown.whole:
                continue
            combined[name] = combine_edges(found)
            if np.isfinite(combined[name].mtf50):
                numbers[name] = edge_number(measurand, combined[name])
            else:
                low, high = combined[name].mtf50_interval
                faults[name] = (
                    f"its {len(found)} edges disagree ({low:.2f} to {high:.2f} cycles/mm) or do "
                    "not fall to half of the contrast where the camera can be taken out"
                )
    return Summary(numbers, combined, faults)


def summarise_bars(
    shown: ShownPatch, bars: Mapping[Axis, Readings[LinePairs]]
) -> Summary[dict[Axis, ResolvedLimit]]:
    """Find the limit of the bar groups of each direction."""
    numbers: dict[str, Number] = {}
    limits: dict[Axis, ResolvedLimit] = {}
    faults: dict[str, str] = {}
    for axis, readings in bars.items():
        faults |= readings.faults
        if not readings.results:
            continue
        groups = list(readings.results.values())
        limits[axis] = resolved_limit(groups, sent_ppi=shown.sent_ppi)
        limit = limits[axis].limit
        if limit is not None and _is_seen(shown, axis, limits[axis]):
            number = _number(
                Measurand(Quantity.LINE_PAIRS, axis),
                limit,
                limits[axis].interval,
                limits[axis].uncertainty,
                "lp/mm",
            )
            numbers |= _by_name(number)
    return Summary(numbers, limits, faults)


def _is_seen(shown: ShownPatch, axis: Axis, limit: ResolvedLimit) -> bool:
    """Whether a limit is the print's: where a part shows no finer bars, it ends at what is seen."""
    finest = max(r.frequency for r in shown.patch.regions.values() if r.direction == axis)
    return limit.ended_by != "groups" or limit.frequency[-1] == finest


def summarise_tints(shown: ShownPatch, tints: Readings[Grain]) -> Summary[GrainSummary | None]:
    """Gather the grain of each tint, and one figure over all.

    Where a tint was refused there is no such number: over other tints it would be another.
    """
    if not tints.results:
        return Summary({}, None, tints.faults)
    whole = summarise_grain(tints.results)
    complete = shown.shows_all("tint") and not tints.faults
    numbers = _by_name(grain_number(whole)) if complete else {}
    for name, grain in tints.results.items():
        tone = shown.patch.regions[name].tone
        numbers |= _by_name(
            *(
                _number(Measurand(quantity, tone=tone), value, interval, None, unit)
                for quantity, value, interval, unit in _of_grain(grain)
            )
        )
    return Summary(numbers, whole, tints.faults)


def _of_grain(grain: Grain) -> tuple[tuple[Quantity, float, Interval, str], ...]:
    """Quantity, value, interval and unit of what is published of one tint."""
    return (
        (
            Quantity.VISUAL_GRAININESS,
            grain.visual_graininess,
            grain.visual_graininess_interval,
            "L* rms",
        ),
        (Quantity.GRAININESS, grain.graininess, grain.graininess_interval, "density"),
        (Quantity.MOTTLE, grain.mottle, grain.mottle_interval, "density"),
        (Quantity.BANDING, grain.banding, grain.banding_interval, "L* rms"),
        (
            Quantity.RMS_GRANULARITY,
            grain.rms_granularity,
            grain.rms_granularity_interval,
            "density x 1000",
        ),
    )


def summarise_dots(shown: ShownPatch, dots: Readings[Dots]) -> Summary[None]:
    """Gather how many dots the light tints have and how evenly they lie."""
    numbers: dict[str, Number] = {}
    for name, found in dots.results.items():
        if found.trust == "none":
            continue
        tone = shown.patch.regions[name].tone
        numbers |= _by_name(
            _number(
                Measurand(Quantity.DOTS, tone=tone),
                found.density,
                found.density_interval,
                found.density_uncertainty,
                "per mm^2",
            ),
            _number(
                Measurand(Quantity.DOT_EVENNESS, tone=tone),
                found.to_lattice,
                found.to_lattice_interval,
                found.to_lattice_uncertainty,
                "of a lattice",
            ),
            _number(
                Measurand(Quantity.DOT_SPACING, tone=tone),
                found.nearest_um,
                found.nearest_interval,
                found.nearest_uncertainty,
                "um",
            ),
        )
    faults = {f"dots of {name}": fault for name, fault in dots.faults.items()}
    return Summary(numbers, None, faults)


def summarise_texture(shown: ShownPatch, texture: Readings[Transfer]) -> Summary[Transfer | None]:
    """Take from the texture how far up the print still follows what was sent."""
    numbers: dict[str, Number] = {}
    for found in texture.results.values():
        for axis in AXES:
            direction = found.x if axis == "x" else found.y
            if direction.kept is not None:
                kept = _number(
                    Measurand(Quantity.TEXTURE_KEPT, axis),
                    direction.kept,
                    direction.kept_interval,
                    direction.kept_uncertainty,
                    "cycles/mm",
                )
                numbers |= _by_name(kept)
            half = half_response(as_sent(direction, shown.sent_ppi))
            if half is not None:
                response = Measurand(Quantity.RESPONSE, axis)
                numbers |= _by_name(
                    _number(response, half.frequency, half.interval, half.uncertainty, "cycles/mm")
                )
    return Summary(numbers, next(iter(texture.results.values()), None), texture.faults)


def summarise_placement(placements: Readings[Placement]) -> Summary[None]:
    """Gather where the head put each ink, and how ragged its lines are."""
    numbers: dict[str, Number] = {}
    for axis in AXES:
        if axis in placements.results:
            numbers |= _placement_numbers(axis, placements.results[axis])
    faults = {f"lines_{axis}": fault for axis, fault in placements.faults.items()}
    return Summary(numbers, None, faults)


def _placement_numbers(axis: Axis, placement: Placement) -> dict[str, Number]:
    lines = placement.lines
    widest = max(placement.passes, key=lambda p: p.offset_um)
    return _by_name(
        *(
            _number(
                Measurand(Quantity.OFFSET, axis, ink=plane.plane),
                plane.offset_um,
                plane.interval,
                plane.uncertainty,
                "um",
            )
            for plane in placement.planes
        ),
        _mean(
            Measurand(Quantity.RAGGEDNESS, axis),
            [line.raggedness_um for line in lines],
            [line.raggedness_interval for line in lines],
            [line.raggedness_uncertainty for line in lines],
        ),
        _mean(
            Measurand(Quantity.LINE_WIDTH, axis),
            [line.width_um for line in lines],
            [line.width_interval for line in lines],
            [line.width_uncertainty for line in lines],
        ),
        _number(
            Measurand(Quantity.PASSES_APART, axis),
            widest.offset_um,
            widest.interval,
            widest.uncertainty,
            "um",
        ),
    )


def edge_number(measurand: Measurand, combined: CombinedEdges) -> Number:
    """MTF50 of the edges of one direction."""
    return _number(
        measurand,
        combined.mtf50,
        combined.mtf50_interval,
        combined.mtf50_uncertainty,
        "cycles/mm",
    )


def grain_number(whole: GrainSummary) -> Number:
    """The one figure over all tints."""
    return _number(
        Measurand(Quantity.GRAIN), whole.value, whole.interval, whole.uncertainty, whole.unit
    )


def _mean(
    measurand: Measurand,
    values: list[float],
    intervals: list[Interval],
    uncertainties: list[Uncertainty],
) -> Number:
    """Mean of independent values in um; degrees of freedom after Welch and Satterthwaite."""
    half = np.ptp(np.array(intervals), axis=1) / 2
    wide = float(np.sqrt(np.sum(half**2)) / len(values))
    mean = float(np.mean(values))
    variances = np.array([u.standard_error for u in uncertainties]) ** 2
    fourth = float(np.sum(variances**2 / [u.degrees for u in uncertainties]))
    total = float(np.sum(variances))
    degrees = total**2 / fourth if fourth > 0 else math.inf
    uncertainty = Uncertainty(math.sqrt(total) / len(values), degrees)
    return _number(measurand, mean, (mean - wide, mean + wide), uncertainty, "um")


def _number(
    measurand: Measurand,
    value: float,
    interval: Interval,
    uncertainty: Uncertainty | None,
    unit: str,
) -> Number:
    low, high = interval
    return Number(float(value), float(low), float(high), unit, measurand, uncertainty)


def _by_name(*numbers: Number) -> dict[str, Number]:
    return {n.measurand.name: n for n in numbers if n.measurand is not None}
