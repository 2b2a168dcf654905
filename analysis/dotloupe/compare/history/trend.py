"""One number of a printer over time: limits, events, steps and drift."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from dotloupe.compare.cautions import (
    EmptyBaseline,
    SeveralVersions,
    ShortBaseline,
    TooFewForLimits,
)
from dotloupe.compare.history.control_chart import (
    FEWEST_FOR_LIMITS,
    ControlLimits,
    Drift,
    LevelChange,
    find_drift,
    find_step,
    short_baseline_limits,
)
from dotloupe.compare.pairs import PairDifference, compare_pairs
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.number import CRITERIA
from dotloupe.storage import plain, program_version

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from dotloupe.cautions import Caution

EventKind: TypeAlias = Literal["alignment", "move", "service"]

SIGNIFICANT = 0.05
LONG_BASELINE = 8
"""Prints of a baseline from which on its limits are not called wide."""


@dataclass(frozen=True)
class Point:
    """One print.

    Attributes
    ----------
    printed_on : date
        Day of the printing.
    print_id : str
        Its name.
    run : int or None
        Its run number.
    value, standard_error : float
        Mean over its photographs, and what their intervals leave open.
    photographs : int
        How many there are.
    captures, versions : tuple of str
        Hashes of the photographs, and versions of the program that measured them.
    """

    printed_on: date
    print_id: str
    run: int | None
    value: float
    standard_error: float
    photographs: int
    captures: tuple[str, ...]
    versions: tuple[str, ...]


@dataclass(frozen=True)
class Event:
    """What was done to the printer."""

    kind: EventKind
    happened_on: date
    note: str = ""


@dataclass(frozen=True)
class EventStep:
    """The prints after an event against those before it, up to the neighbouring events.

    Attributes
    ----------
    event : Event
        What happened.
    step : PairDifference
        After minus before; corrected for the number of events looked at.
    before, after : float
        Means.
    n_before, n_after : int
        Numbers of prints.
    better : bool or None
        The step is an improvement; None where the two cannot be told apart or neither way is
        better.
    """

    event: Event
    step: PairDifference
    before: float
    after: float
    n_before: int
    n_after: int
    better: bool | None


@dataclass(frozen=True)
class Trend:
    """One number of one printer and mode on one paper over time.

    Attributes
    ----------
    criterion, unit, title : str
        The number.
    better : str or None
        "higher", "lower", or None for a number that is neither.
    printer, mode, paper : str
        Which prints.
    points : tuple of Point
        In order of time.
    events : tuple of Event
        In order of time.
    baseline : tuple of int or None
        Indices of the first point of the baseline, and of the first after it.
    limits : ControlLimits or None
        None where the baseline has fewer than three prints.
    outside : tuple of int
        Indices of the points outside the limits.
    left_since : int or None
        First point of the unbroken run outside the limits that the last point belongs to.
    event_steps : tuple of EventStep
        Before against after each event that has prints on both sides.
    change : LevelChange or None
        Most likely step since the last event; its index counts all points.
    drift : Drift or None
        Straight line since the last event.
    cautions : tuple of Caution
        What the reader must know.
    version : str
        Of the program.
    """

    criterion: str
    unit: str
    title: str
    better: str | None
    printer: str
    mode: str
    paper: str
    points: tuple[Point, ...]
    events: tuple[Event, ...]
    baseline: tuple[int, int] | None
    limits: ControlLimits | None
    outside: tuple[int, ...]
    left_since: int | None
    event_steps: tuple[EventStep, ...]
    change: LevelChange | None
    drift: Drift | None
    cautions: tuple[Caution, ...]
    version: str

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything, ready for JSON, dates as 2026-03-12.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        return dict(plain(self, words))


def trend(
    points: Sequence[Point],
    events: Sequence[Event],
    *,
    criterion: str,
    unit: str,
    printer: str,
    mode: str,
    paper: str,
    baseline: tuple[date, date] | None = None,
) -> Trend:
    """Chart prints in time: limits, steps at events, drift.

    Parameters
    ----------
    points : sequence of Point
        Prints in order of time.
    events : sequence of Event
        In order of time.
    criterion, unit, printer, mode, paper : str
        What the points are.
    baseline : pair of dates, optional
        First and last day of the prints that set the limits. If not given, the prints before the
        first event that leaves at least three, or the first half, twenty at most.
    """
    known = CRITERIA.get(criterion)
    values = [p.value for p in points]
    chosen = _baseline(points, events, baseline)
    limits = None
    if chosen and chosen[1] - chosen[0] >= FEWEST_FOR_LIMITS:
        errors = np.array([p.standard_error for p in points[slice(*chosen)]])
        measured = float(np.sqrt(np.mean(np.nan_to_num(errors) ** 2)))
        limits = short_baseline_limits(values[slice(*chosen)], measured)
    outside = tuple(
        i for i, v in enumerate(values) if limits and not limits.lower <= v <= limits.upper
    )
    start = _last_phase(points, events)
    recent = points[start:]
    change = find_step([p.value for p in recent])
    first_day = points[0].printed_on
    return Trend(
        criterion=criterion,
        unit=unit,
        title=known.title if known else criterion,
        better=known.better if known else None,
        printer=printer,
        mode=mode,
        paper=paper,
        points=tuple(points),
        events=tuple(events),
        baseline=chosen,
        limits=limits,
        outside=outside,
        left_since=_left_since(values, limits),
        event_steps=_event_steps(points, events, known.better if known else None),
        change=change and replace(change, index=change.index + start),
        drift=find_drift(
            [(p.printed_on - first_day).days for p in recent], [p.value for p in recent]
        ),
        cautions=tuple(_cautions(points, chosen)),
        version=program_version(),
    )


def _baseline(
    points: Sequence[Point], events: Sequence[Event], days: tuple[date, date] | None
) -> tuple[int, int] | None:
    if days is not None:
        inside = [i for i, p in enumerate(points) if days[0] <= p.printed_on <= days[1]]
        return (inside[0], inside[-1] + 1) if inside else None
    for event in events:
        before = sum(p.printed_on < event.happened_on for p in points)
        if before >= FEWEST_FOR_LIMITS:
            return (0, before)
    return (0, min(20, max(FEWEST_FOR_LIMITS, len(points) // 2), len(points)))


def _last_phase(points: Sequence[Point], events: Sequence[Event]) -> int:
    """Index of the first point since the last event that has points after it."""
    starts = [sum(p.printed_on < e.happened_on for p in points) for e in events]
    return max((s for s in starts if s < len(points)), default=0)


def _left_since(values: Sequence[float], limits: ControlLimits | None) -> int | None:
    """First of the unbroken run of values outside, on one side, that ends the series."""
    if limits is None:
        return None
    sides = [1 if v > limits.upper else -1 if v < limits.lower else 0 for v in values]
    if not sides[-1]:
        return None
    run = len(sides) - 1
    while run > 0 and sides[run - 1] == sides[-1]:
        run -= 1
    return run


def _event_steps(
    points: Sequence[Point], events: Sequence[Event], better: str | None
) -> tuple[EventStep, ...]:
    days = sorted({e.happened_on for e in events})
    starts = [0, *(sum(p.printed_on < d for p in points) for d in days), len(points)]
    parts = [
        (event, points[starts[i] : starts[i + 1]], points[starts[i + 1] : starts[i + 2]])
        for i, day in enumerate(days)
        for event in events
        if event.happened_on == day
    ]
    parts = [(e, before, after) for e, before, after in parts if before and after]
    return tuple(_event_step(*part, looked_at=len(parts), better=better) for part in parts)


def _event_step(
    event: Event,
    before: Sequence[Point],
    after: Sequence[Point],
    *,
    looked_at: int,
    better: str | None,
) -> EventStep:
    samples = [
        Sample(
            name,
            tuple(PrintValue(p.print_id, p.value, p.standard_error, p.photographs) for p in part),
        )
        for name, part in (("after", after), ("before", before))
    ]
    (step,) = compare_pairs(samples, family_error=SIGNIFICANT / looked_at)
    improved = None
    if step.distinguishable and better:
        improved = (step.difference > 0) == (better == "higher")
    return EventStep(
        event, step, samples[1].mean, samples[0].mean, len(before), len(after), improved
    )


def _cautions(points: Sequence[Point], baseline: tuple[int, int] | None) -> list[Caution]:
    found: list[Caution] = []
    versions = sorted({v for p in points for v in p.versions})
    if len(versions) > 1:
        found.append(SeveralVersions(tuple(versions)))
    if baseline is None:
        found.append(EmptyBaseline())
    elif baseline[1] - baseline[0] < FEWEST_FOR_LIMITS:
        found.append(TooFewForLimits())
    elif baseline[1] - baseline[0] < LONG_BASELINE:
        found.append(ShortBaseline())
    return found
