"""One number of a printer over time: baselines, limits, what events did, what it is now."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from dotloupe.arrays import Interval
from dotloupe.cautions import Caution
from dotloupe.compare.cautions import EmptyBaseline, SeveralVersions, ShortBaseline, TooFewForLimits
from dotloupe.compare.history.control_chart import Spread, mean_of, student_half_width
from dotloupe.compare.history.course import Course, State
from dotloupe.compare.history.event_step import EventStep, event_steps
from dotloupe.compare.history.events import Event
from dotloupe.compare.history.judging import ALARM, judge
from dotloupe.compare.history.series import Point, Series, Visit, known_measurands
from dotloupe.number import Direction
from dotloupe.storage import plain, program_version

LONG_BASELINE = 8
"""Prints of a baseline from which on its limits are not called wide."""


@dataclass(frozen=True)
class Baseline:
    """Prints that later ones are compared with, and the limits of a visit's mean about them.

    Attributes
    ----------
    first, last, until : date
        Its first and last visit, and the last visit that is compared with it.
    n : int
        Number of prints.
    centre : float
    lower, upper : float or None
        None where nothing is known of how prints vary.
    """

    first: date
    last: date
    until: date
    n: int
    centre: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Latest:
    """The mean of the last visit's prints with its 95 % interval."""

    day: date
    value: float
    low: float | None
    high: float | None
    n: int


@dataclass(frozen=True)
class Change:
    """The last visit less the baseline, with the 95 % interval of this one number.

    Attributes
    ----------
    difference, low, high : float
        In the unit of the number.
    percent, percent_low, percent_high : float or None
        Of the baseline; None where it may be zero.
    p_value : float
        Chance of a visit as far out for the worse without a change, of this number alone.
    """

    difference: float
    low: float
    high: float
    percent: float | None
    percent_low: float | None
    percent_high: float | None
    p_value: float


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
    state : State
    since : date or None
        First visit of the change, or from which on it has been better.
    latest : Latest
    baselines : tuple of Baseline
        In order of time; the last visit is compared with the last one.
    change : Change or None
        None without a baseline.
    outside : tuple of int
        Indices of the points of visits that were found changed.
    event_steps : tuple of EventStep
        Before against after each event that has prints on both sides.
    cautions : tuple of Caution
        What the reader must know.
    version : str
        Of the program.
    """

    criterion: str
    unit: str
    title: str
    better: Direction | None
    printer: str
    mode: str
    paper: str
    points: tuple[Point, ...]
    events: tuple[Event, ...]
    state: State
    since: date | None
    latest: Latest
    baselines: tuple[Baseline, ...]
    change: Change | None
    outside: tuple[int, ...]
    event_steps: tuple[EventStep, ...]
    cautions: tuple[Caution, ...]
    version: str

    @property
    def baseline(self) -> Baseline | None:
        """What the last visit is compared with."""
        return self.baselines[-1] if self.change is not None else None

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
    """Follow one number by itself over time.

    Parameters
    ----------
    points : sequence of Point
        Prints in order of time.
    events : sequence of Event
        In order of time.
    criterion, unit, printer, mode, paper : str
        What the points are.
    baseline : pair of dates, optional
        First and last day of the prints to compare with.
    """
    series = Series(criterion, unit, known_measurands().get(criterion), tuple(points))
    course = judge([series], events, baseline=baseline)[criterion]
    names = (printer, mode, paper)
    return trend_of(series, course, events, names=names, numbers=1)


def trend_of(
    series: Series,
    course: Course,
    events: Sequence[Event],
    *,
    names: tuple[str, str, str],
    numbers: int,
) -> Trend:
    """The trend of a number that has been judged.

    Parameters
    ----------
    series : Series
    course : Course
        Of all its visits.
    events : sequence of Event
    names : (str, str, str)
        Printer, mode and paper.
    numbers : int
        How many were judged together.
    """
    printer, mode, paper = names
    days = set(course.changed)
    return Trend(
        criterion=series.name,
        unit=series.unit,
        title=series.title,
        better=series.better,
        printer=printer,
        mode=mode,
        paper=paper,
        points=series.points,
        events=tuple(events),
        state=course.state,
        since=course.since,
        latest=_latest(series, course),
        baselines=_baselines(series, course, ALARM / numbers),
        change=_change(series, course),
        outside=tuple(i for i, p in enumerate(series.points) if p.printed_on in days),
        event_steps=event_steps(series, events, course),
        cautions=tuple(_cautions(series, course)),
        version=program_version(),
    )


def _latest(series: Series, course: Course) -> Latest:
    last = course.visits[-1]
    values = [series.points[i] for i in last.points]
    low, high = None, None
    if course.spread is not None:
        error = (course.spread.variance / last.n) ** 0.5
        half = student_half_width(error, course.spread.degrees, 0.025)
        low, high = (series.value(last.mean + side * half) for side in (-1, 1))
    elif (known := series.measured_variance) > 0:
        half = student_half_width((known / last.n) ** 0.5, float("inf"), 0.025)
        low, high = (series.value(last.mean + side * half) for side in (-1, 1))
    return Latest(last.day, series.value(last.mean), low, high, len(values))


def _baselines(series: Series, course: Course, chance: float) -> tuple[Baseline, ...]:
    """Every baseline so far, with limits that a visit of as many prints as the last one has."""
    last = course.visits[-1]
    compared = tuple(v for v in course.baseline if v.day < last.day) or course.baseline
    visits = [b for b in (*course.past, compared) if b]
    if not visits:
        return ()
    ends = [
        *(max(v.day for v in course.visits if v.day < b[0].day) for b in visits[1:]),
        last.day,
    ]
    return tuple(
        _baseline(series, b, end, _limits(series, b, last, course.spread, chance))
        for b, end in zip(visits, ends, strict=True)
    )


def _baseline(
    series: Series, visits: Sequence[Visit], until: date, limits: Interval | None
) -> Baseline:
    lower, upper = limits or (None, None)
    first, last = visits[0].day, visits[-1].day
    n = sum(v.n for v in visits)
    return Baseline(first, last, until, n, series.value(mean_of(visits)), lower, upper)


def _limits(
    series: Series, baseline: Sequence[Visit], visit: Visit, spread: Spread | None, chance: float
) -> Interval | None:
    if spread is None:
        return None
    error = (spread.variance * (spread.of_mean(baseline) + spread.of_mean([visit]))) ** 0.5
    half = student_half_width(error, spread.degrees, chance if series.better else chance / 2)
    centre = mean_of(baseline)
    return series.value(centre - half), series.value(centre + half)


def _change(series: Series, course: Course) -> Change | None:
    if course.evidence is None:
        return None
    found = course.evidence.departure
    half = student_half_width(found.error, found.degrees, 0.025)
    centre = course.visits[-1].mean - found.difference
    ends = (found.difference, found.difference - half, found.difference + half)
    difference, low, high = (series.value(centre + d) - series.value(centre) for d in ends)
    share = 100 / series.value(centre) if series.by_ratio else None
    percent = [None if share is None else share * d for d in (difference, low, high)]
    return Change(difference, low, high, percent[0], percent[1], percent[2], course.evidence.worse)


def _cautions(series: Series, course: Course) -> list[Caution]:
    found: list[Caution] = []
    versions = sorted({v for p in series.points for v in p.versions})
    if len(versions) > 1:
        found.append(SeveralVersions(tuple(versions)))
    prints = sum(v.n for v in course.baseline)
    if course.fixed and not prints:
        found.append(EmptyBaseline())
    elif course.evidence is None:
        found.append(TooFewForLimits())
    elif prints < LONG_BASELINE:
        found.append(ShortBaseline())
    return found
