"""What one number of a printer shows, and what to do, for the person at the printer."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from dotloupe.compare.history import State
from dotloupe.report.text.phrases import counted, phrase, quoted
from dotloupe.report.text.rounding import interval_text, percent_ends, percent_text, value_text

if TYPE_CHECKING:
    from dotloupe.compare.history import Change, EventStep, Trend

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

STATES = {
    State.NO_BASELINE: "nothing to compare with yet",
    State.STEADY: "unchanged",
    State.SUSPECTED: "uncertain: print again",
    State.WORSE: "worse",
    State.CHANGED: "changed",
    State.OUT_OF_LINE: "visibly out of line",
    State.BETTER: "better than before",
}
"""What tables call them."""


def advice_sentence(trend: Trend) -> str:
    """Say what a number shows and what to do."""
    subject = f"{_started(number_phrase(trend))} in {quoted(trend.mode)} mode"
    since = "" if trend.since is None else day_text(trend.since, _days(trend))
    change = "" if trend.change is None else change_text(trend, trend.change)
    match trend.state:
        case State.NO_BASELINE:
            return (
                f"{subject} has nothing to be compared with yet. Add three prints on another day."
            )
        case State.SUSPECTED:
            return (
                f"{subject} may have become worse, {change}. Print three more to be sure; chance "
                "alone can look like this."
            )
        case State.WORSE:
            return f"{subject} has been worse since {since}, {change}."
        case State.CHANGED:
            return f"{subject} has changed since {since}, {change}. Look for what changed then."
        case State.OUT_OF_LINE:
            return f"{subject} is visibly out of line. Align the head."
        case State.BETTER:
            return f"{subject} has been better since {since}. Prints since then are its baseline."
    return f"{subject} has not changed. There is nothing to do."


def event_sentence(trend: Trend) -> str:
    """Say what the last event with prints on both sides did; empty where there is none."""
    if not trend.event_steps:
        return ""
    step = trend.event_steps[-1]
    change, what = step.step, number_phrase(trend)
    event = f"The {step.event.kind} of {day_text(step.event.happened_on, _days(trend))}"
    if not change.distinguishable:
        smallest = change.smallest_difference
        could = (
            ""
            if smallest is None
            else f"; they would have found a change of {smallest:.2g} {trend.unit}"
        )
        return (
            f"After {event[:1].lower()}{event[1:]}, these prints show no change in {what}{could}."
        )
    way = "raised" if change.difference > 0 else "lowered"
    low, high = sorted(abs(p) for p in (change.percent_low or 0.0, change.percent_high or 0.0))
    size = f"{abs(change.percent or 0.0):.0f} % ({low:.0f} to {high:.0f} %)"
    judged = {True: ", for the better", False: ", for the worse", None: ""}[step.better]
    return f"{event} {way} {what} by {size}{judged}."


def number_phrase(trend: Trend) -> str:
    """What a sentence calls the number of a trend."""
    return phrase(trend.criterion, trend.title)


def change_text(trend: Trend, change: Change) -> str:
    """How far the last visit lies from the baseline, with its 95 % interval."""
    before = trend.latest.value - change.difference
    if change.percent is not None:
        way = "up" if change.percent > 0 else "down"
        size = percent_text(change.percent, change.percent_low, change.percent_high)
        ends = percent_ends(change.percent, change.percent_low, change.percent_high)
        return f"{way} by {size} ({ends})"
    ends = interval_text(change.difference, change.low, change.high)
    low, high = before + change.low, before + change.high
    return (
        f"from {value_text(before, low, high)} to {value_text(trend.latest.value, low, high)} "
        f"{trend.unit} (change {ends})"
    )


def event_outcome(step: EventStep) -> str:
    """What a table calls the step at an event."""
    if step.better is not None:
        return "better" if step.better else "worse"
    return "changed" if step.step.distinguishable else "no change found"


def baseline_text(trend: Trend) -> str:
    """The prints that the last visit is compared with; empty for none."""
    if trend.baseline is None:
        return ""
    days = _days(trend)
    first, last = (day_text(d, days) for d in (trend.baseline.first, trend.baseline.last))
    return (
        f"{counted(trend.baseline.n, 'print')}, {first if first == last else f'{first} to {last}'}"
    )


def day_text(day: date, among: Iterable[date]) -> str:
    """Day and month, with the year where the days span several."""
    year = f" {day.year}" if len({d.year for d in among}) > 1 else ""
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def _days(trend: Trend) -> list[date]:
    return [*(p.printed_on for p in trend.points), *(e.happened_on for e in trend.events)]


def _started(text: str) -> str:
    return text[:1].upper() + text[1:]
