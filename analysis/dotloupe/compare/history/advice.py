"""What the gravest finding of a trend asks for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from dotloupe.compare.history.control_chart import FEWEST_FOR_LIMITS

if TYPE_CHECKING:
    from dotloupe.compare.history.trend import Event, EventStep, Trend

SIGNIFICANT = 0.05


class Action(StrEnum):
    """What to do next."""

    ADD_PRINTS = "add prints"
    ADD_EARLIER_PRINTS = "add prints from before the first event"
    FIND_CAUSE = "find the cause"
    NEW_BASELINE = "take a new baseline"
    PRINT_AGAIN = "print again"
    SERVICE = "service the printer"
    ALIGN = "align the head"
    WATCH_STEP = "watch the step"
    WATCH_DRIFT = "watch the drift"
    KEEP_EVENT = "keep what the event did"
    ALIGN_AFTER_EVENT = "align the head after the event"
    EVENT_UNDECIDED = "nothing, the event made no difference that was found"
    NOTHING = "nothing"


@dataclass(frozen=True)
class Advice:
    """What to do, and what it rests on.

    Attributes
    ----------
    action : Action
        What to do.
    event : Event or None
        What was tried since the number left its limits, where that did not help.
    event_step : EventStep or None
        The step at the event that the advice is about.
    """

    action: Action
    event: Event | None = None
    event_step: EventStep | None = None


def advise(trend: Trend) -> Advice:
    """Return what the gravest finding of a trend asks for.

    Outside the limits comes first, then moving for the worse, then what the last event did, then
    that all is well.
    """
    if trend.limits is not None and trend.left_since is not None:
        return _outside(trend, trend.left_since)
    if trend.limits is not None and (moving := _moving(trend)) is not None:
        return Advice(moving)
    decided = [s for s in trend.event_steps if s.better is not None]
    if decided:
        action = Action.KEEP_EVENT if decided[-1].better else Action.ALIGN_AFTER_EVENT
        return Advice(action, event_step=decided[-1])
    if trend.limits is not None:
        return Advice(Action.NOTHING)
    if trend.event_steps:
        return Advice(Action.EVENT_UNDECIDED, event_step=trend.event_steps[-1])
    few = len(trend.points) < FEWEST_FOR_LIMITS
    return Advice(Action.ADD_PRINTS if few else Action.ADD_EARLIER_PRINTS)


def above_limits(trend: Trend) -> bool:
    """Whether the last print lies above the upper control limit."""
    return trend.limits is not None and trend.points[-1].value > trend.limits.upper


def _outside(trend: Trend, left_since: int) -> Advice:
    if trend.better is None:
        return Advice(Action.FIND_CAUSE)
    if above_limits(trend) == (trend.better == "higher"):
        return Advice(Action.NEW_BASELINE)
    if left_since == len(trend.points) - 1:
        return Advice(Action.PRINT_AGAIN)
    first, last = trend.points[left_since].printed_on, trend.points[-1].printed_on
    tried = [e for e in trend.events if e.kind != "move" and first < e.happened_on <= last]
    return Advice(Action.SERVICE, event=tried[-1]) if tried else Advice(Action.ALIGN)


def _moving(trend: Trend) -> Action | None:
    """The step or drift for the worse since the last event that fits better, if there is any."""
    worse = {"higher": -1, "lower": 1}.get(trend.better or "", 0)
    drift, step = trend.drift, trend.change
    drifts = drift and drift.p_value < SIGNIFICANT and drift.per_30_days * worse > 0
    steps = step and step.p_value < SIGNIFICANT and (step.after - step.before) * worse > 0
    if step and steps and not (drift and drifts and drift.residual < step.residual):
        return Action.WATCH_STEP
    return Action.WATCH_DRIFT if drifts else None
