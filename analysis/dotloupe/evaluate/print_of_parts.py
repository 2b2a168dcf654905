"""One print of several photographs, each of a part: its elements gathered, and their numbers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias, TypeVar

from dotloupe.evaluate.elements import AXES, Readings
from dotloupe.evaluate.print_response import print_responses
from dotloupe.evaluate.shared_elements import (
    Sighting,
    averaged,
    averaged_number,
    is_sampled_alike,
    sampled_finest,
)
from dotloupe.evaluate.summaries import (
    FEWEST_EDGES,
    HEADLINE_TONE,
    summarise_bars,
    summarise_dots,
    summarise_edges,
    summarise_tints,
)
from dotloupe.measure.bars import LinePairs
from dotloupe.measure.dots import Dots
from dotloupe.measure.edge import EdgeResponse
from dotloupe.measure.grain import Grain, PaperIncluded
from dotloupe.measurement import Measurement, PatchMeasurement
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.patch import PAPER_TONE, Axis, Patch, Region
from dotloupe.registration import Registration, ShownPatch

Result = TypeVar("Result")
Seen: TypeAlias = Mapping[str, Sequence[Sighting[Result]]]
"""Sightings by region."""

OF_DOTS = (Quantity.DOTS, Quantity.DOT_EVENNESS, Quantity.DOT_SPACING)
OF_ONE_ELEMENT = (
    Quantity.TEXTURE_KEPT,
    Quantity.RESPONSE,
    Quantity.OFFSET,
    Quantity.RAGGEDNESS,
    Quantity.LINE_WIDTH,
    Quantity.PASSES_APART,
)
"""Of the texture and of the block of lines, which are in sight as a whole or not at all."""


@dataclass(frozen=True)
class _Elements:
    """Sightings of every element, by region."""

    edges: Seen[EdgeResponse]
    bars: Mapping[Axis, Seen[LinePairs]]
    tints: Seen[Grain]
    dots: Seen[Dots]

    def readings(
        self,
    ) -> tuple[
        Readings[EdgeResponse], dict[Axis, Readings[LinePairs]], Readings[Grain], Readings[Dots]
    ]:
        """One result of each."""
        bars = {axis: _readings(seen) for axis, seen in self.bars.items()}
        return _readings(self.edges), bars, _readings(self.tints), _readings(self.dots)

    def in_sight(self, patch: Patch, shots: Sequence[PatchMeasurement]) -> tuple[Region, ...]:
        """Regions that any photograph has a result of; blank paper by the grain less it."""
        names = {*self.edges, *self.tints, *self.dots, *(n for b in self.bars.values() for n in b)}
        if any(not _has_paper(g) for m in shots for g in m.tints.values()):
            names.add(f"tint_{PAPER_TONE}")
        return tuple(r for name, r in patch.regions.items() if name in names)


def _elements(patch: Patch, shots: Sequence[PatchMeasurement]) -> _Elements:
    edges = _seen([(m, m.edges) for m in shots], lambda e: _length(e.mtf50_interval) / e.mtf50)
    bars = {
        axis: _finest(
            _seen(
                [(m, m.bars.get(axis, {})) for m in shots],
                lambda b: b.contrast_uncertainty.standard_error,
            )
        )
        for axis in AXES
    }
    tints = _seen(
        [(m, {f"tint_{tone}": g for tone, g in m.tints.items()}) for m in shots],
        lambda g: _length(g.visual_graininess_interval),
    )
    dots = _seen([(m, m.dots) for m in shots], lambda d: d.density_uncertainty.standard_error)
    return _Elements(
        _of_one_sampling(patch, edges), bars, _finest(_without_paper(tints)), _finest(dots)
    )


def _of_one_element(
    shots: Sequence[PatchMeasurement],
) -> dict[str, list[PatchMeasurement]]:
    """Photographs that have each number of texture or lines, those sampled as the finest."""
    found: dict[str, list[PatchMeasurement]] = {}
    for name in dict.fromkeys(n for m in shots for n in m.numbers):
        holders = [m for m in shots if name in m.numbers and _by_itself(m.numbers[name])]
        finest = max(map(_per_mm, holders), default=0.0)
        if holders:
            found[name] = [m for m in holders if is_sampled_alike(_per_mm(m), finest)]
    return found


def with_prints_of_parts(measurements: Iterable[Measurement]) -> tuple[Measurement, ...]:
    """Measurements of one setting, those of a print that was photographed in parts as one.

    Prints of which every photograph shows the whole patch stay as they are.

    Parameters
    ----------
    measurements : iterable of Measurement
    """
    prints: dict[str, list[Measurement]] = defaultdict(list)
    for m in measurements:
        prints[m.print_id].append(m)
    return tuple(m for group in prints.values() for m in _gathered(group))


def _gathered(group: Sequence[Measurement]) -> Sequence[Measurement]:
    shots = [m for m in group if isinstance(m, PatchMeasurement) and m.registration is not None]
    if len(shots) < max(len(group), 2) or not any(map(_is_part, shots)):
        return group
    if len({_patch(m).kind for m in shots}) > 1:
        return group
    return (measurement_of_print(shots),)


def measurement_of_print(shots: Sequence[PatchMeasurement]) -> PatchMeasurement:
    """Numbers of one print from all of its photographs.

    Every element counts once: where several photographs sampled alike show it, by their mean,
    weighted by its errors; where they were sampled differently, by the finest.

    Parameters
    ----------
    shots : sequence of PatchMeasurement
        Photographs of one print, at least one.
    """
    coded = next((m for m in shots if m.sent_ppi is not None), shots[0])
    patch, sent_ppi = _patch(coded), coded.sent_ppi
    elements = _elements(patch, shots)
    printed_ppi = None if sent_ppi is None else sent_ppi / patch.scale
    shown = ShownPatch(patch, printed_ppi, elements.in_sight(patch, shots))
    edges, bars, tints, dots = elements.readings()
    of_edges, of_bars = summarise_edges(shown, edges), summarise_bars(shown, bars)
    of_tints, of_dots = summarise_tints(shown, tints), summarise_dots(shown, dots)
    numbers = {**of_edges.numbers, **of_bars.numbers, **of_tints.numbers, **of_dots.numbers}
    sources = {
        name: _paths(number.measurand, elements, patch)
        for name, number in numbers.items()
        if number.measurand is not None
    }
    for name, holders in _of_one_element(shots).items():
        numbers[name] = averaged_number([m.numbers[name] for m in holders])
        sources[name] = tuple(m.path for m in holders)
    finest = max(shots, key=_per_mm)
    return replace(
        finest,
        path=shots[0].path,
        sha256=shots[0].sha256,
        run=coded.run,
        sent_ppi=sent_ppi,
        warnings=tuple(dict.fromkeys(w for m in shots for w in m.warnings)),
        numbers=numbers,
        response=print_responses(of_edges.together, printed_ppi),
        registration=coded.registration,
        faults={name: why for m in shots for name, why in m.faults.items()} | of_edges.faults,
        edges=edges.results,
        directions=of_edges.together,
        tints={patch.regions[n].tone: g for n, g in tints.results.items()},
        grain=of_tints.together if Quantity.GRAIN.value in numbers else None,
        small_picture=next((m.small_picture for m in shots if m.small_picture is not None), None),
        fitness=None,
        bars={axis: readings.results for axis, readings in bars.items()},
        limits=of_bars.together,
        dots=dots.results,
        texture=next((m.texture for m in shots if m.texture is not None), None),
        placement={axis: p for m in shots for axis, p in m.placement.items()},
        parts=tuple(shots),
        sources=sources,
    )


def _registration(m: Measurement) -> Registration:
    if m.registration is None:
        raise ValueError(f"{m.path}: not registered")
    return m.registration


def _patch(m: Measurement) -> Patch:
    patch = _registration(m).patch
    if patch is None:
        raise ValueError(f"{m.path}: registered on a picture, not on a patch")
    return patch


def _is_part(m: Measurement) -> bool:
    return _registration(m).sight_mm is not None


def _per_mm(m: Measurement) -> float:
    return _registration(m).pixels_per_mm


def _length(interval: tuple[float, float]) -> float:
    return interval[1] - interval[0]


def _seen(
    shots: Sequence[tuple[PatchMeasurement, Mapping[str, Result]]],
    error: Callable[[Result], float],
) -> dict[str, list[Sighting[Result]]]:
    """Sightings of each region."""
    found: dict[str, list[Sighting[Result]]] = defaultdict(list)
    for m, results in shots:
        for name, result in results.items():
            found[name].append(Sighting(m.path, _per_mm(m), error(result), result))
    return dict(found)


def _finest(seen: Seen[Result]) -> dict[str, list[Sighting[Result]]]:
    return {name: sampled_finest(sightings) for name, sightings in seen.items()}


def _of_one_sampling(patch: Patch, edges: Seen[Result]) -> dict[str, list[Sighting[Result]]]:
    """Edges of each direction and tone from photographs sampled alike, enough for a number.

    The finest such: a mean over edges that hold more and less of the camera is neither's.
    """
    groups: dict[tuple[object, str], dict[str, list[Sighting[Result]]]] = defaultdict(dict)
    for name, sightings in edges.items():
        region = patch.regions[name]
        groups[region.direction, region.tone][name] = list(sightings)
    kept: dict[str, list[Sighting[Result]]] = {}
    for group in groups.values():
        ways = []
        for finest in sorted({s.pixels_per_mm for each in group.values() for s in each}):
            alike = {
                name: within
                for name, each in group.items()
                if (within := [s for s in each if is_sampled_alike(s.pixels_per_mm, finest)])
            }
            ways.append(alike)
        enough = [way for way in ways if len(way) >= FEWEST_EDGES]
        kept |= (enough or ways)[-1]
    return kept


def _readings(seen: Seen[Result]) -> Readings[Result]:
    return Readings({name: averaged(sightings) for name, sightings in seen.items()}, {})


def _has_paper(grain: Grain) -> bool:
    return any(isinstance(c, PaperIncluded) for c in grain.cautions)


def _without_paper(tints: Seen[Grain]) -> dict[str, list[Sighting[Grain]]]:
    """Of each tint the photographs that show blank paper too, where any does."""
    return {
        name: [s for s in sightings if not _has_paper(s.result)] or list(sightings)
        for name, sightings in tints.items()
    }


def _by_itself(number: Number) -> bool:
    """Whether a number is of an element that is seen whole or not at all: texture and lines."""
    return number.measurand is not None and number.measurand.quantity in OF_ONE_ELEMENT


def _paths(measurand: Measurand, elements: _Elements, patch: Patch) -> tuple[str, ...]:
    """Photographs that a number comes from, by the elements that it is made of."""
    quantity, axis, tone = measurand.quantity, measurand.axis, measurand.tone
    if quantity is Quantity.DETAIL:
        of_tone = (tone or HEADLINE_TONE, axis)
        return _photographs(elements.edges, patch, lambda r: (r.tone, r.direction) == of_tone)
    if quantity is Quantity.LINE_PAIRS and axis is not None:
        return _photographs(elements.bars[axis], patch, lambda _: True)
    if quantity is Quantity.GRAIN:
        return _photographs(elements.tints, patch, lambda _: True)
    if quantity in OF_DOTS:
        return _photographs(elements.dots, patch, lambda r: r.tone == tone)
    return _photographs(elements.tints, patch, lambda r: r.tone == tone)


def _photographs(
    seen: Seen[Result], patch: Patch, chosen: Callable[[Region], bool]
) -> tuple[str, ...]:
    paths = {s.path for name, each in seen.items() if chosen(patch.regions[name]) for s in each}
    return tuple(sorted(paths))
