"""Is the head due? One verdict over all numbers of a printer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

import numpy as np

from dotloupe.cautions import Caution
from dotloupe.compare.history.course import FOUND, Course, State
from dotloupe.compare.history.events import REPAIRS, Event
from dotloupe.compare.history.eye_cost import EyeCost, eye_costs
from dotloupe.compare.history.judging import judge
from dotloupe.compare.history.series import Series, known_measurands, of_head
from dotloupe.compare.history.trend import Trend, trend_of
from dotloupe.compare.visibility import Alignment, alignment, just_visible_um
from dotloupe.number import Quantity
from dotloupe.storage import plain, program_version
from dotloupe.units import VIEWING_DISTANCE_MM

HEAD_IS_OFF = {Quantity.OFFSET, Quantity.PASSES_APART}
"""An alignment sets these."""
NOZZLE_IS_LOST = {Quantity.BANDING, Quantity.MOTTLE, Quantity.RAGGEDNESS}
"""Where the inks lie as they did, these show nozzles that do not fire."""
INK_OF_TINT = {"light_cyan": "cyan", "light_magenta": "magenta"}


class Remedy(StrEnum):
    """What the head is due for."""

    ALIGNMENT = "alignment"
    CLEANING = "cleaning"
    EITHER = "alignment or cleaning"


@dataclass(frozen=True)
class HeadVerdict:
    """Whether the head of a printer is due, by all numbers together.

    Attributes
    ----------
    due : bool or None
        None where the prints do not tell.
    remedy : Remedy or None
        For what it is due.
    because : tuple of str
        Names of the numbers that changed for the worse, the clearest first.
    suspected : tuple of str
        Names of those that further prints would settle.
    inks : tuple of str
        Inks whose offset or tint is among `because`.
    since : date or None
        First visit of the change.
    tried : Event or None
        A repair since then, which did not mend it.
    p_value : float or None
        Chance of a visit as far out for the worse, over all numbers, without a change.
    printer, mode, paper : str
    days : tuple of date
        Of the visits.
    numbers : mapping of str to Trend
        All that were judged, the worst first.
    costs : mapping of str to EyeCost
        What the changes cost to the eye, of numbers for which that is known.
    events : tuple of Event
    cautions : tuple of Caution
        What holds for all numbers.
    version : str
        Of the program.
    """

    due: bool | None
    remedy: Remedy | None
    because: tuple[str, ...]
    suspected: tuple[str, ...]
    inks: tuple[str, ...]
    since: date | None
    tried: Event | None
    p_value: float | None
    printer: str
    mode: str
    paper: str
    days: tuple[date, ...]
    numbers: Mapping[str, Trend]
    costs: Mapping[str, EyeCost]
    events: tuple[Event, ...]
    cautions: tuple[Caution, ...]
    version: str

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the single prints, ready for JSON, dates as 2026-03-12.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        numbers = {n: _number(t, self.costs.get(n)) for n, t in self.numbers.items()}
        found = {k: v for k, v in vars(self).items() if k not in ("numbers", "costs")}
        return dict(plain({**found, "numbers": numbers}, words))


def _number(trend: Trend, cost: EyeCost | None) -> dict[str, object]:
    baseline = trend.baseline
    return {
        "title": trend.title,
        "unit": trend.unit,
        "verdict": trend.state,
        "since": trend.since,
        "baseline_from": baseline and baseline.first,
        "baseline_to": baseline and baseline.last,
        "baseline_prints": baseline and baseline.n,
        "baseline": baseline and baseline.centre,
        "lower": baseline and baseline.lower,
        "upper": baseline and baseline.upper,
        "latest": trend.latest.value,
        "latest_low": trend.latest.low,
        "latest_high": trend.latest.high,
        "latest_on": trend.latest.day,
        "latest_prints": trend.latest.n,
        "change": trend.change,
        "eye": cost,
    }


def head_verdict(
    series: Sequence[Series],
    events: Sequence[Event],
    *,
    names: tuple[str, str, str],
    baseline: tuple[date, date] | None = None,
) -> HeadVerdict:
    """Judge all numbers of a printer together.

    Parameters
    ----------
    series : sequence of Series
        Every number of the prints; those that show nothing of the head play no part.
    events : sequence of Event
        In order of time.
    names : (str, str, str)
        Printer, mode and paper.
    baseline : pair of dates, optional
        First and last day of the prints that all others are compared with.
    """
    judged = of_head(series)
    last = max(p.printed_on for s in judged for p in s.points)
    courses = judge(judged, events, baseline=baseline)
    trends = {
        s.name: trend_of(s, courses[s.name], events, names=names, numbers=len(judged))
        for s in judged
    }
    if not any(e.kind in REPAIRS and e.happened_on <= last for e in events):
        trends = {n: _out_of_line(t) for n, t in trends.items()}
    ordered = dict(sorted(trends.items(), key=lambda item: _rank(item[1])))
    current = {n: t for n, t in ordered.items() if t.latest.day == last}
    because = tuple(n for n, t in current.items() if t.state in DUE)
    suspected = tuple(n for n, t in current.items() if t.state is State.SUSPECTED)
    compared = [c for n, c in courses.items() if n in current and c.evidence is not None]
    since = min((d for n in because if (d := ordered[n].since)), default=None)
    printer, mode, paper = names
    return HeadVerdict(
        due=bool(because) if because or (compared and not suspected) else None,
        remedy=_remedy(because) if because else None,
        because=because,
        suspected=suspected,
        inks=_inks(because),
        since=since,
        tried=_tried(events, since, last),
        p_value=_together(compared),
        printer=printer,
        mode=mode,
        paper=paper,
        days=tuple(sorted({p.printed_on for s in judged for p in s.points})),
        numbers=ordered,
        costs=eye_costs(current),
        events=tuple(events),
        cautions=_common([t.cautions for t in current.values()]),
        version=program_version(),
    )


DUE = (*FOUND, State.OUT_OF_LINE)


def _out_of_line(trend: Trend) -> Trend:
    """The trend of an offset, marked where an eye sees it, whatever it was before."""
    measurand, latest = known_measurands().get(trend.criterion), trend.latest
    if measurand is None or measurand.quantity is not Quantity.OFFSET or trend.state in FOUND:
        return trend
    if latest.low is None or latest.high is None:
        return trend
    if alignment((latest.low, latest.high), VIEWING_DISTANCE_MM) is not Alignment.MISALIGNED:
        return trend
    return replace(trend, state=State.OUT_OF_LINE, since=_visible_since(trend))


def _visible_since(trend: Trend) -> date:
    """First day of the last unbroken run of days on which the eye sees the offset."""
    limit, by_day = just_visible_um(VIEWING_DISTANCE_MM), defaultdict(list)
    for point in trend.points:
        by_day[point.printed_on].append(point.value)
    since = trend.latest.day
    for day in sorted(by_day, reverse=True):
        if np.mean(by_day[day]) * np.sign(trend.latest.value) <= limit:
            break
        since = day
    return since


def _rank(trend: Trend) -> tuple[int, float]:
    """The worst first: by state, then by the chance of lying as far out."""
    order = (*FOUND, State.OUT_OF_LINE, State.SUSPECTED, State.STEADY, State.BETTER)
    place = order.index(trend.state) if trend.state in order else len(order)
    return place, 1.0 if trend.change is None else trend.change.p_value


def _remedy(because: Sequence[str]) -> Remedy:
    quantities = {known_measurands()[name].quantity for name in because}
    if quantities & HEAD_IS_OFF:
        return Remedy.ALIGNMENT
    return Remedy.CLEANING if quantities & NOZZLE_IS_LOST else Remedy.EITHER


def _inks(because: Sequence[str]) -> tuple[str, ...]:
    found = (known_measurands()[name] for name in because)
    inks = (m.ink or INK_OF_TINT.get(m.tone, "") for m in found)
    return tuple(dict.fromkeys(filter(None, inks)))


def _tried(events: Sequence[Event], since: date | None, last: date) -> Event | None:
    if since is None:
        return None
    tried = [e for e in events if e.kind in REPAIRS and since < e.happened_on <= last]
    return tried[-1] if tried else None


def _together(courses: Sequence[Course]) -> float | None:
    """Simes' chance of all numbers together."""
    if not courses:
        return None
    chances = np.sort([c.evidence.worse for c in courses if c.evidence])
    return min(1.0, float(np.min(chances * len(chances) / np.arange(1, len(chances) + 1))))


def _common(each: Sequence[tuple[Caution, ...]]) -> tuple[Caution, ...]:
    return tuple(c for c in each[0] if all(c in own for own in each)) if each else ()
