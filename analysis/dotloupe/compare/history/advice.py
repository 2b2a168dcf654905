"""What a trend means, in one sentence for the person at the printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.history.control_limits import FEWEST_FOR_LIMITS

if TYPE_CHECKING:
    from datetime import date

    from dotloupe.compare.history.trend import EventStep, Point, Trend

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

SIGNIFICANT = 0.05


def advise(t: Trend) -> str:
    """Say what the trend shows and what to do.

    The gravest finding speaks: outside the limits, then moving for the worse, then what the last
    event did, then that all is well.
    """
    if t.limits is None:
        return _before_limits(t)
    if t.left_since is not None:
        return _outside(t)
    moving = _moving(t)
    if moving:
        return moving
    told = _last_event(t)
    since = _day(t.points[t.outside[-1] + 1 if t.outside else 0].printed_on, t)
    return told or f"{_subject(t)} has kept within its limits since {since}: nothing to do."


def _before_limits(t: Trend) -> str:
    told = _last_event(t)
    if told:
        return told
    missing = FEWEST_FOR_LIMITS - len(t.points)
    if missing > 0:
        prints = "one more print" if missing == 1 else f"{missing} more prints"
        return f"{_subject(t)} has no limits yet: add {prints} before anything is changed."
    return f"{_subject(t)} has no limits yet: add prints made before anything was changed."


def _outside(t: Trend) -> str:
    assert t.left_since is not None  # noqa: S101
    assert t.limits is not None  # noqa: S101
    first, last = t.points[t.left_since], t.points[-1]
    above = last.value > t.limits.upper
    subject, since = _subject(t), _day(first.printed_on, t)
    if t.better is None:
        side = "above" if above else "below"
        return f"{subject} has been {side} its limits since {since}: look for what changed then."
    if above == (t.better == "higher"):
        return (
            f"{subject} has been better than its limits since {since}: keep it so, and take the "
            "prints since then as the new baseline."
        )
    if t.left_since == len(t.points) - 1:
        return (
            f"{subject} left its limits with the last print, of {since}: print {_again(last)} once "
            "more to be sure."
        )
    tried = [e for e in t.events if e.kind != "move" and e.happened_on > first.printed_on]
    tried = [e for e in tried if e.happened_on <= last.printed_on]
    if tried:
        done = f"the {tried[-1].kind} of {_day(tried[-1].happened_on, t)}"
        return (
            f"{subject} has left its limits since {since}, and {done} did not bring it back: have "
            "the head cleaned or the printer serviced."
        )
    return (
        f"{subject} has left its limits since {since}: align the head, then print {_again(last)} "
        "again."
    )


def _moving(t: Trend) -> str | None:
    """Say that the number gets worse since the last event, if it does, within its limits."""
    worse = {"higher": -1, "lower": 1}.get(t.better or "", 0)
    drift, change = t.drift, t.change
    drifts = drift is not None and drift.p_value < SIGNIFICANT and drift.per_30_days * worse > 0
    steps = change is not None and change.p_value < SIGNIFICANT
    steps = steps and change is not None and (change.after - change.before) * worse > 0
    if steps and change and (not drifts or drift is None or change.residual <= drift.residual):
        day = _day(t.points[change.index].printed_on, t)
        return (
            f"{_subject(t)} took a step for the worse on {day}, from {change.before:.3g} to "
            f"{change.after:.3g} {t.unit}, still within its limits: align the head if the printer "
            f"was moved then, and print {_again(t.points[-1])} again."
        )
    if drifts and drift:
        return (
            f"{_subject(t)} is drifting for the worse by {abs(drift.per_30_days):.2g} {t.unit} a "
            f"month, still within its limits: print {_again(t.points[-1])} again in a month, and "
            "align the head when it leaves them."
        )
    return None


def _last_event(t: Trend) -> str | None:
    """Say what the last event that changed something did."""
    told = [s for s in t.event_steps if s.better is not None]
    if not told:
        return _undecided_event(t)
    return _event_sentence(told[-1], t)


def _event_sentence(s: EventStep, t: Trend) -> str:
    percent = abs(s.step.percent or 0.0)
    way = "raised" if s.step.difference > 0 else "lowered"
    ends = sorted(abs(p) for p in (s.step.percent_low or 0.0, s.step.percent_high or 0.0))
    what = (
        f"The {s.event.kind} of {_day(s.event.happened_on, t)} {way} {_name(t)} in the {t.mode} "
        f"mode by {percent:.0f} % ({ends[0]:.0f} to {ends[1]:.0f} %)"
    )
    if s.better:
        return f"{what}: keep it so, and take the prints since then as the baseline."
    return f"{what}, for the worse: align the head, then print {_again(t.points[-1])} again."


def _undecided_event(t: Trend) -> str | None:
    if not t.event_steps or t.limits is not None:
        return None
    s = t.event_steps[-1]
    smallest = s.step.smallest_difference
    could = f"; {smallest:.2g} {t.unit} could have been found" if smallest is not None else ""
    return (
        f"The {s.event.kind} of {_day(s.event.happened_on, t)} made no difference to {_name(t)} in "
        f"the {t.mode} mode beyond what prints vary by{could}: nothing to do."
    )


def _subject(t: Trend) -> str:
    name = _name(t)
    return f"{name[0].upper()}{name[1:]} in the {t.mode} mode"


def _name(t: Trend) -> str:
    return NAMES.get(t.criterion, t.criterion.replace("_", " "))


def _again(p: Point) -> str:
    return f"run {p.run}" if p.run is not None else p.print_id


def _day(day: date, t: Trend) -> str:
    """Day and month, with the year where the history spans several."""
    years = {p.printed_on.year for p in t.points} | {e.happened_on.year for e in t.events}
    year = f" {day.year}" if len(years) > 1 else ""
    return f"{day.day} {MONTHS[day.month - 1]}{year}"
