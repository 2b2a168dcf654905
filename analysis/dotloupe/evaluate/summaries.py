"""From the elements of a patch to the numbers that settings are compared by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from dotloupe.arrays import Interval
from dotloupe.evaluate.elements import AXES, Readings
from dotloupe.measure.bars import LinePairs, ResolvedLimit, resolved_limit
from dotloupe.measure.dots import Dots
from dotloupe.measure.edge import CombinedEdges, EdgeResponse, combine_edges
from dotloupe.measure.grain import Grain, GrainSummary, summarise_grain
from dotloupe.measure.texture import Transfer, as_sent, half_response
from dotloupe.measurement import Number, Placement
from dotloupe.patch import Axis
from dotloupe.registration import View

HEADLINE_TONE = "mid"
Together = TypeVar("Together")


@dataclass(frozen=True)
class Summary(Generic[Together]):
    """Numbers of one kind of element, its elements taken together, and why some have none."""

    numbers: dict[str, Number]
    together: Together
    faults: dict[str, str]


def summarise_edges(view: View, edges: Readings[EdgeResponse]) -> Summary[dict[str, CombinedEdges]]:
    """Combine the edges of each direction and tone; the mid-tone ones are the headline."""
    numbers, combined = {}, {}
    faults = dict(edges.faults)
    for axis in AXES:
        regions = [r for r in view.regions("edge", axis) if r.name in edges.results]
        for tone in dict.fromkeys(r.tone for r in regions):
            name = f"detail_{axis}" if tone == HEADLINE_TONE else f"detail_{tone}_{axis}"
            found = [edges.results[r.name] for r in regions if r.tone == tone]
            combined[name] = combine_edges(found)
            if np.isfinite(combined[name].mtf50):
                numbers[name] = _number(
                    combined[name].mtf50, combined[name].mtf50_interval, "cycles/mm"
                )
            else:
                low, high = combined[name].mtf50_interval
                faults[name] = (
                    f"its {len(found)} edges disagree ({low:.2f} to {high:.2f} cycles/mm) or do "
                    "not fall to half of the contrast where the camera can be taken out"
                )
    return Summary(numbers, combined, faults)


def summarise_bars(
    view: View, bars: Mapping[Axis, Readings[LinePairs]]
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
        limits[axis] = resolved_limit(groups, sent_ppi=view.registration.sent_ppi)
        limit = limits[axis].limit
        if limit is not None:
            numbers[f"line_pairs_{axis}"] = _number(limit, limits[axis].interval, "lp/mm")
    return Summary(numbers, limits, faults)


def summarise_tints(tints: Readings[Grain]) -> Summary[GrainSummary | None]:
    """Gather the grain of each tint, and one figure over all."""
    if not tints.results:
        return Summary({}, None, tints.faults)
    whole = summarise_grain(tints.results)
    numbers = {"grain": _number(whole.value, whole.interval, whole.unit)}
    for name, grain in tints.results.items():
        tone = name.removeprefix("tint_")
        numbers |= {
            f"visual_graininess_{tone}": _number(
                grain.visual_graininess, grain.visual_graininess_interval, "L* rms"
            ),
            f"graininess_{tone}": _number(grain.graininess, grain.graininess_interval, "density"),
            f"mottle_{tone}": _number(grain.mottle, grain.mottle_interval, "density"),
            f"rms_granularity_{tone}": _number(
                grain.rms_granularity, grain.rms_granularity_interval, "density x 1000"
            ),
        }
    return Summary(numbers, whole, tints.faults)


def summarise_dots(dots: Readings[Dots]) -> Summary[None]:
    """Gather how many dots the light tints have and how evenly they lie."""
    numbers: dict[str, Number] = {}
    for name, found in dots.results.items():
        if found.trust != "none":
            tone = name.removeprefix("tint_")
            numbers[f"dots_{tone}"] = _number(found.density, found.density_interval, "per mm^2")
            numbers[f"dot_evenness_{tone}"] = _number(
                found.to_lattice, found.to_lattice_interval, "of a lattice"
            )
            numbers[f"dot_spacing_{tone}"] = _number(found.nearest_um, found.nearest_interval, "um")
    faults = {f"dots of {name}": fault for name, fault in dots.faults.items()}
    return Summary(numbers, None, faults)


def summarise_texture(view: View, texture: Readings[Transfer]) -> Summary[Transfer | None]:
    """Take from the texture how far up the print still follows what was sent."""
    numbers: dict[str, Number] = {}
    for found in texture.results.values():
        for axis, direction in (("x", found.x), ("y", found.y)):
            if direction.kept is not None:
                kept = _number(direction.kept, direction.kept_interval, "cycles/mm")
                numbers[f"texture_kept_{axis}"] = kept
            half = half_response(as_sent(direction, view.registration.sent_ppi))
            if half is not None:
                numbers[f"response_{axis}"] = _number(half.frequency, half.interval, "cycles/mm")
    return Summary(numbers, next(iter(texture.results.values()), None), texture.faults)


def summarise_placement(placements: Readings[Placement]) -> Summary[None]:
    """Gather where the head put each ink, and how ragged its lines are."""
    numbers: dict[str, Number] = {}
    for axis, placement in placements.results.items():
        numbers |= _placement_numbers(axis, placement)
    faults = {f"lines_{axis}": fault for axis, fault in placements.faults.items()}
    return Summary(numbers, None, faults)


def _placement_numbers(axis: str, placement: Placement) -> dict[str, Number]:
    numbers = {
        f"offset_{plane.plane}_{axis}": _number(plane.offset_um, plane.interval, "um")
        for plane in placement.planes
    }
    lines, passes = placement.lines, placement.passes
    numbers[f"raggedness_{axis}"] = _mean(
        [line.raggedness_um for line in lines], [line.raggedness_interval for line in lines]
    )
    numbers[f"line_width_{axis}"] = _mean(
        [line.width_um for line in lines], [line.width_interval for line in lines]
    )
    widest = max(passes, key=lambda p: p.offset_um)
    numbers[f"passes_apart_{axis}"] = _number(widest.offset_um, widest.interval, "um")
    return numbers


def _mean(values: list[float], intervals: list[Interval]) -> Number:
    """Mean of independent values in um, with its interval."""
    half = np.ptp(np.array(intervals), axis=1) / 2
    error = float(np.sqrt(np.sum(half**2)) / len(values))
    mean = float(np.mean(values))
    return Number(mean, mean - error, mean + error, "um")


def _number(value: float, interval: Interval, unit: str) -> Number:
    return Number(float(value), float(interval[0]), float(interval[1]), unit)
