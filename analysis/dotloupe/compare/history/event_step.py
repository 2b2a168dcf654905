"""What an event did to a number: the prints after it against those before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dotloupe.compare.history.course import FOUND, Course
from dotloupe.compare.history.events import Event
from dotloupe.compare.history.series import Point, Series
from dotloupe.compare.pairs import FAMILY_ERROR, PairDifference, compare_pairs
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.number import Quantity


@dataclass(frozen=True)
class EventStep:
    """The prints after an event against those before it.

    They reach up to the neighbouring events, and up to the day from which on the number has
    changed.

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
        The step is an improvement; None where the two cannot be distinguished or neither way is
        better. An offset is better the nearer it lies to zero.
    """

    event: Event
    step: PairDifference
    before: float
    after: float
    n_before: int
    n_after: int
    better: bool | None


def event_steps(series: Series, events: Sequence[Event], course: Course) -> tuple[EventStep, ...]:
    """Return what every event with prints on both sides did.

    Parameters
    ----------
    series : Series
    events : sequence of Event
    course : Course
        The number as judged.
    """
    points = series.points
    happened = {e.happened_on for e in events}
    days = sorted(happened | _later_change(points, happened, course))
    starts = [0, *(sum(p.printed_on < d for p in points) for d in days), len(points)]
    parts = [
        (event, points[starts[i] : starts[i + 1]], points[starts[i + 1] : starts[i + 2]])
        for i, day in enumerate(days)
        for event in events
        if event.happened_on == day
    ]
    parts = [(e, before, after) for e, before, after in parts if before and after]
    return tuple(_event_step(series, *part, looked_at=len(parts)) for part in parts)


def _later_change(points: Sequence[Point], happened: set[date], course: Course) -> set[date]:
    """Day of a change that came after prints had been made since the event before it."""
    since = course.since
    if course.state not in FOUND or since is None:
        return set()
    last = max((day for day in happened if day <= since), default=date.min)
    return {since} if any(last <= p.printed_on < since for p in points) else set()


def _event_step(
    series: Series,
    event: Event,
    before: Sequence[Point],
    after: Sequence[Point],
    *,
    looked_at: int,
) -> EventStep:
    old, new = _sample("before", before), _sample("after", after)
    (step,) = compare_pairs([new, old], family_error=FAMILY_ERROR / looked_at)
    better = None
    if step.distinguishable and series.quantity is Quantity.OFFSET:
        better = abs(new.mean) < abs(old.mean)
    elif step.distinguishable and series.better:
        better = (step.difference > 0) == (series.better == "higher")
    return EventStep(event, step, old.mean, new.mean, len(before), len(after), better)


def _sample(name: str, points: Sequence[Point]) -> Sample:
    values = (PrintValue(p.print_id, p.value, p.standard_error, p.photographs) for p in points)
    return Sample(name, tuple(values))
