"""What a trend asks for, in one sentence for the person at the printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.history import FEWEST_FOR_LIMITS, Action, above_limits, advise
from dotloupe.report.text.phrases import counted

if TYPE_CHECKING:
    from datetime import date

    from dotloupe.compare.history import EventStep, Point, Trend

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

NAMES = {
    "detail_x": "detail along x",
    "detail_y": "detail along y",
    "line_pairs_x": "the line pairs resolved along x",
    "line_pairs_y": "the line pairs resolved along y",
}


def advice_sentence(trend: Trend) -> str:
    """Say what the trend shows and what to do."""
    advice = advise(trend)
    if advice.event_step is not None:
        return _event_sentence(trend, advice.action, advice.event_step)
    subject, again = _subject(trend), _again(trend.points[-1])
    since = _day(trend, trend.points[trend.left_since or 0].printed_on)
    inside = _day(trend, trend.points[trend.outside[-1] + 1 if _back(trend) else 0].printed_on)
    tried = advice.event
    done = f"the {tried.kind} of {_day(trend, tried.happened_on)}" if tried is not None else ""
    sentences = {
        Action.ADD_PRINTS: (
            f"{subject} has no limits yet: add {_missing(trend)} before anything is changed."
        ),
        Action.ADD_EARLIER_PRINTS: (
            f"{subject} has no limits yet: add prints made before anything was changed."
        ),
        Action.FIND_CAUSE: (
            f"{subject} has been {'above' if above_limits(trend) else 'below'} its limits since "
            f"{since}: look for what changed then."
        ),
        Action.NEW_BASELINE: (
            f"{subject} has been better than its limits since {since}: keep it so, and take the "
            "prints since then as the new baseline."
        ),
        Action.PRINT_AGAIN: (
            f"{subject} left its limits with the last print, of {since}: print {again} once more "
            "to be sure."
        ),
        Action.SERVICE: (
            f"{subject} has left its limits since {since}, and {done} did not bring it back: have "
            "the head cleaned or the printer serviced."
        ),
        Action.ALIGN: (
            f"{subject} has left its limits since {since}: align the head, then print {again} "
            "again."
        ),
        Action.WATCH_STEP: _step_sentence(trend),
        Action.WATCH_DRIFT: _drift_sentence(trend),
        Action.NOTHING: f"{subject} has kept within its limits since {inside}: nothing to do.",
    }
    return sentences[advice.action]


def _back(trend: Trend) -> bool:
    return bool(trend.outside) and trend.left_since is None


def _missing(trend: Trend) -> str:
    missing = FEWEST_FOR_LIMITS - len(trend.points)
    return "one more print" if missing == 1 else counted(missing, "more print")


def _step_sentence(trend: Trend) -> str:
    step = trend.change
    if step is None:
        return ""
    return (
        f"{_subject(trend)} took a step for the worse on "
        f"{_day(trend, trend.points[step.index].printed_on)}, from {step.before:.3g} to "
        f"{step.after:.3g} {trend.unit}, still within its limits: align the head if the printer "
        f"was moved then, and print {_again(trend.points[-1])} again."
    )


def _drift_sentence(trend: Trend) -> str:
    if trend.drift is None:
        return ""
    return (
        f"{_subject(trend)} is drifting for the worse by {abs(trend.drift.per_30_days):.2g} "
        f"{trend.unit} a month, still within its limits: print {_again(trend.points[-1])} again "
        "in a month, and align the head when it leaves them."
    )


def _event_sentence(trend: Trend, action: Action, found: EventStep) -> str:
    step = found.step
    event = f"The {found.event.kind} of {_day(trend, found.event.happened_on)}"
    what = f"{_name(trend)} in the {trend.mode} mode"
    if action is Action.EVENT_UNDECIDED:
        smallest = step.smallest_difference
        could = "" if smallest is None else f"; {smallest:.2g} {trend.unit} could have been found"
        return (
            f"{event} made no difference to {what} beyond what prints vary by{could}: nothing to "
            "do."
        )
    way = "raised" if step.difference > 0 else "lowered"
    low, high = sorted(abs(p) for p in (step.percent_low or 0.0, step.percent_high or 0.0))
    size = f"{abs(step.percent or 0.0):.0f} % ({low:.0f} to {high:.0f} %)"
    if action is Action.KEEP_EVENT:
        end = ": keep it so, and take the prints since then as the baseline."
    else:
        end = f", for the worse: align the head, then print {_again(trend.points[-1])} again."
    return f"{event} {way} {what} by {size}{end}"


def _subject(trend: Trend) -> str:
    name = _name(trend)
    return f"{name[0].upper()}{name[1:]} in the {trend.mode} mode"


def _name(trend: Trend) -> str:
    return NAMES.get(trend.criterion, trend.criterion.replace("_", " "))


def _again(point: Point) -> str:
    return f"run {point.run}" if point.run is not None else point.print_id


def _day(trend: Trend, day: date) -> str:
    """Day and month, with the year where the history spans several."""
    years = {p.printed_on.year for p in trend.points} | {e.happened_on.year for e in trend.events}
    year = f" {day.year}" if len(years) > 1 else ""
    return f"{day.day} {MONTHS[day.month - 1]}{year}"
