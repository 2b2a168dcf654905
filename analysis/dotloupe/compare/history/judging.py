"""Numbers of a printer judged together, visit by visit, against baselines that know of events."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from dotloupe.compare.differences import beyond_chance
from dotloupe.compare.history.control_chart import (
    Departure,
    Spread,
    departure,
    mean_of,
    print_spread,
    visits_ratio,
    with_visits,
)
from dotloupe.compare.history.course import FOUND, Course, Evidence, State, evidence
from dotloupe.compare.history.events import REPAIRS, SUPPLIES, Event, EventKind
from dotloupe.compare.history.series import Series, Visit
from dotloupe.number import Quantity

ALARM = 0.0017
"""Chance a visit, over all numbers together, of finding a change where there is none.

Twelve visits of three prints then do so in at most 5 % of years; simulated for 1 to 40 numbers in
`tests/compare/history/history_benchmark.py`.
"""

SUSPICION = 0.02
"""The same of asking for further prints."""

BACK = 0.05
"""A number that had changed is back where its visit could lie as far out by this chance."""

SAME = 0.25
"""A state after a repair joins the baseline before it where they differ with no smaller chance.

Bancroft, Biometrics 20 (1964) 427, advises 0.25 for such a preliminary test; from memory.
"""

SUPPLY_FREE = {Quantity.OFFSET, Quantity.PASSES_APART}
"""Numbers that new inks or a new paper leave as they are."""


def judge(
    series: Sequence[Series],
    events: Sequence[Event],
    *,
    baseline: tuple[date, date] | None = None,
) -> dict[str, Course]:
    """Follow numbers over all visits, and judge them together at each.

    Parameters
    ----------
    series : sequence of Series
        The numbers that share the error.
    events : sequence of Event
        In order of time; prints of an event's day count as made after it.
    baseline : pair of dates, optional
        First and last day of the visits that all others are compared with, events or not.

    Returns
    -------
    dict of str to Course
        By name of the number, as the last visit left it.

    Notes
    -----
    At each visit every number gives the chance that it lies as far out for the worse without a
    change. Those that the procedure of Benjamini and Hochberg claims at `ALARM` have changed: where
    nothing changed at all it claims any with that chance (Simes, Biometrika 73 (1986) 751, from
    memory).
    """
    by_name = {s.name: s for s in series}
    by_day = {s.name: {v.day: v for v in s.visits()} for s in series}
    courses = {s.name: _begun(by_day[s.name].values(), baseline) for s in series}
    for day in sorted({d for days in by_day.values() for d in days}):
        now = {n: c for n, c in courses.items() if day in by_day[n]}
        seen = {n: replace(c, visits=(*c.visits, by_day[n][day])) for n, c in now.items()}
        if baseline and baseline[0] <= day <= baseline[1]:
            courses |= seen
            continue
        repaired = {n: _averaged_anew(c, events) for n, c in seen.items()}
        measured = _measured(repaired, by_name)
        courses |= _judged(measured, by_name, events)
    return courses


def _begun(visits: Iterable[Visit], baseline: tuple[date, date] | None) -> Course:
    if baseline is None:
        return Course()
    chosen = tuple(v for v in visits if baseline[0] <= v.day <= baseline[1])
    return Course(baseline=chosen, fixed=True)


def _measured(courses: Mapping[str, Course], series: Mapping[str, Series]) -> dict[str, Course]:
    """Courses with what the last visit shows against the baseline."""
    spreads = {n: print_spread(c.visits, series[n].measured_variance) for n, c in courses.items()}
    ratios = {n: visits_ratio(courses[n].baseline, s) for n, s in spreads.items() if s is not None}
    common = _common_visits(courses, spreads, ratios)
    found = {}
    for name, course in courses.items():
        spread, shown = spreads[name], None
        if spread is not None:
            spread = with_visits(spread, course.baseline, ratios[name], common)
            shown = departure(course.visits[course.phase :], course.baseline, spread)
        told = None if shown is None else evidence(series[name], course.visits[-1], shown)
        found[name] = replace(course, spread=spread, evidence=told)
    return found


def _common_visits(
    courses: Mapping[str, Course],
    spreads: Mapping[str, Spread | None],
    ratios: Mapping[str, tuple[float, float] | None],
) -> float:
    """Variance of visits over that of prints, as all numbers together show it; 0 at least.

    The mean of F of a visits' and b prints' degrees is b / (b - 2).
    """
    excess, weight = 0.0, 0.0
    for name, own in ratios.items():
        spread = spreads[name]
        if own is None or spread is None or spread.degrees <= 2:
            continue
        ratio, degrees = own
        baseline = courses[name].baseline
        n = sum(v.n for v in baseline) / len(baseline)
        excess += degrees * (ratio * (1 - 2 / spread.degrees) - 1) / n
        weight += degrees
    return max(0.0, excess / weight) if weight else 0.0


def _judged(
    courses: Mapping[str, Course], series: Mapping[str, Series], events: Sequence[Event]
) -> dict[str, Course]:
    """Courses with the state that the last visit leaves them in."""
    courses = {n: _after_events(c, series[n], events) for n, c in courses.items()}
    known = {n: c.evidence for n, c in courses.items() if c.evidence is not None}
    chances = np.array([e.worse for e in known.values()])
    alarmed, suspected = (
        dict(zip(known, beyond_chance(chances, level), strict=True)) for level in (ALARM, SUSPICION)
    )
    found = {n: _not_compared(c) for n, c in courses.items() if n not in known}
    for name, told in known.items():
        course = courses[name]
        back = course.state in FOUND and told.worse_now > BACK
        if course.state in FOUND and not back:
            found[name] = replace(course, changed=(*course.changed, course.visits[-1].day))
        elif alarmed[name] and not back:
            found[name] = _changed(course, told, series[name])
        elif told.better_now <= ALARM / len(known):
            day = course.visits[-1].day
            found[name] = replace(course.restarted(), state=State.BETTER, since=day)
        elif suspected[name] and not back:
            found[name] = replace(course, state=State.SUSPECTED, since=None)
        else:
            found[name] = _unchanged(course)
    return found


def _not_compared(course: Course) -> Course:
    """The course with the last visit in its baseline, as nothing speaks against it."""
    last = course.visits[-1]
    if not course.baseline:
        course = course.restarted()
    elif not course.fixed and last not in course.baseline:
        course = replace(course, baseline=(*course.baseline, last))
    return replace(course, state=State.NO_BASELINE)


def _changed(course: Course, told: Evidence, series: Series) -> Course:
    """The course with a change found; visits since it began leave the baseline."""
    since = _since(course, told.departure)
    baseline = course.baseline
    if not course.fixed:
        baseline = tuple(v for v in baseline if v.day < since) or baseline
    directed = series.better is not None or series.quantity is Quantity.OFFSET
    return replace(
        course,
        state=State.WORSE if directed else State.CHANGED,
        since=since,
        baseline=baseline,
        changed=(*course.changed, course.visits[-1].day),
    )


def _unchanged(course: Course) -> Course:
    """The course with the last visit in its baseline.

    All that were not found changed join: leaving out those that lie far out by chance would make
    limits too narrow.
    """
    last = course.visits[-1]
    if course.state in FOUND:
        # what the moving average remembers of the change ends with it
        course = replace(course, phase=len(course.visits) - 1)
    state, since = State.STEADY, None
    if course.state is State.BETTER:
        state, since = State.BETTER, course.since
    baseline = course.baseline if course.fixed else (*course.baseline, last)
    return replace(course, state=state, since=since, baseline=baseline)


def _since(course: Course, found: Departure) -> date:
    """Day of the visit with which the change began.

    The last one where it alone lies farther out than the moving average; else the likeliest of the
    unbroken run on its side of the baseline: from it on, n times the squared mean departure is
    largest (Hinkley 1970, Biometrika 57, for a known mean before; from memory).
    """
    visits = course.visits[course.phase :]
    if abs(found.visit) >= abs(found.average) or not visits:
        return course.visits[-1].day
    centre, since, likeliest = mean_of(course.baseline), visits[-1].day, 0.0
    total, prints = 0.0, 0
    for visit in reversed(visits):
        departure = visit.mean - centre
        if departure * found.average <= 0:
            break
        total, prints = total + visit.n * departure, prints + visit.n
        if total**2 / prints >= likeliest:
            since, likeliest = visit.day, total**2 / prints
    return since


def _averaged_anew(course: Course, events: Sequence[Event]) -> Course:
    """The course whose moving average begins with the last visit, where a repair came before it."""
    if course.fixed or not _happened(course, events) & REPAIRS:
        return course
    return replace(course, phase=len(course.visits) - 1)


def _happened(course: Course, events: Sequence[Event]) -> set[EventKind]:
    """Kinds of the events since the visit before the last."""
    day = course.visits[-1].day
    before = course.visits[-2].day if len(course.visits) > 1 else date.min
    return {e.kind for e in events if before < e.happened_on <= day}


def _after_events(course: Course, series: Series, events: Sequence[Event]) -> Course:
    """The course with the baseline that the events since the visit before leave it."""
    kinds = _happened(course, events)
    if course.fixed or not course.baseline or not kinds:
        return course
    if kinds & REPAIRS:
        return _after_repair(course)
    supplies_matter = series.quantity not in SUPPLY_FREE and course.state not in FOUND
    return _anew(course) if kinds & SUPPLIES and supplies_matter else course


def _after_repair(course: Course) -> Course:
    """The state after a repair is the baseline where it is better or no worse."""
    told = course.evidence
    if told is None:
        return _anew(course)
    if told.worse_now <= BACK:
        return course
    return replace(course, state=State.STEADY, since=None) if told.same >= SAME else _anew(course)


def _anew(course: Course) -> Course:
    """The course with a new baseline, of the last visit alone."""
    return replace(course.restarted(), evidence=None, state=State.NO_BASELINE, since=None)
