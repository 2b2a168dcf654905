"""From the gratings of a patch to the numbers that settings are compared by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.evaluate.elements import AXES, Readings
from dotloupe.evaluate.summaries import Summary
from dotloupe.measure import normal_uncertainty
from dotloupe.measure.contrast import FAINT_MODULATION, ContrastMap, Survival
from dotloupe.number import Measurand, Number, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable


SEEN_AT = 2.0
"""lp/mm at which the least contrast seen is published: fine to an eye at 35 cm, and seen by it."""


def summarise_gratings(
    gratings: Readings[ContrastMap],
) -> Summary[tuple[ContrastMap, ...]]:
    """Take from the gratings up to where faint detail and colour survive, and what is seen."""
    maps = tuple(gratings.results.values())
    numbers: dict[str, Number] = {}
    faults = dict(gratings.faults)
    for found in (m for m in maps if not m.ink):
        survives = found.survival_of(FAINT_MODULATION)
        measurand = Measurand(Quantity.FAINT_DETAIL, found.axis, tone=found.tone)
        _add_limit(measurand, survives, numbers, faults)
        _add(_seen(found), numbers)
    for axis in AXES:
        inks = [m for m in maps if m.ink and m.axis == axis]
        if inks:
            first_lost = min((m.survivals[0] for m in inks), key=lambda s: s.limit or 0.0)
            measurand = Measurand(Quantity.COLOUR_DETAIL, axis)
            _add_limit(measurand, first_lost, numbers, faults)
    _add(_tone_shifts(maps), numbers)
    return Summary(numbers, maps, faults)


def _add(found: Iterable[Number], numbers: dict[str, Number]) -> None:
    numbers |= {n.measurand.name: n for n in found if n.measurand is not None}


def _add_limit(
    measurand: Measurand,
    survives: Survival | None,
    numbers: dict[str, Number],
    faults: dict[str, str],
) -> None:
    if survives is None:
        faults[measurand.name] = "no faint grating is in sight; photograph more of the patch"
        return
    if survives.limit is None:
        faults[measurand.name] = (
            "the coarsest grating is lost in the grain, or keeps under a tenth of its contrast"
        )
        return
    low, high = survives.interval
    numbers[measurand.name] = Number(
        survives.limit, low, high, "lp/mm", measurand, normal_uncertainty(survives.interval)
    )


def _seen(found: ContrastMap) -> Iterable[Number]:
    for seen in found.seen:
        if seen.frequency == SEEN_AT and seen.uncertainty is not None:
            measurand = Measurand(Quantity.LEAST_CONTRAST_SEEN, found.axis, tone=found.tone)
            half = 100 * seen.uncertainty.half_width
            percent = 100 * seen.modulation
            error = seen.uncertainty.scaled(100)
            yield Number(percent, max(percent - half, 0), percent + half, "%", measurand, error)


def _tone_shifts(maps: tuple[ContrastMap, ...]) -> Iterable[Number]:
    for found in maps:
        shift = found.tone_shift
        if shift is not None:
            measurand = Measurand(Quantity.TONE_SHIFT, found.axis, tone=found.tone)
            low, high = (shift.value + s * shift.uncertainty.half_width for s in (-1, 1))
            yield Number(shift.value, low, high, "L*", measurand, shift.uncertainty)
