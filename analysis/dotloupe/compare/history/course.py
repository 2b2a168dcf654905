"""One number up to a visit: its baseline, its state, and what the visit shows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from dotloupe.compare.history.control_chart import Departure, Spread, tail
from dotloupe.compare.history.series import Series, Visit
from dotloupe.number import Quantity


class State(StrEnum):
    """What the latest visit says of a number."""

    NO_BASELINE = "no baseline"
    STEADY = "steady"
    SUSPECTED = "suspected"
    WORSE = "worse"
    CHANGED = "changed"
    OUT_OF_LINE = "out of line"
    BETTER = "better"


FOUND = (State.WORSE, State.CHANGED)


@dataclass(frozen=True)
class Evidence:
    """The last visit against the baseline, by the way that a number is worse.

    Attributes
    ----------
    departure : Departure
    worse : float
        Chance of lying as far out for the worse without a change, by the clearer of two charts.
    worse_now, better_now : float
        The same by the last visit alone, for the worse and for the better.
    same : float
        Chance of lying as far out to either side.
    """

    departure: Departure
    worse: float
    worse_now: float
    better_now: float
    same: float


@dataclass(frozen=True)
class Course:
    """One number up to a visit.

    Attributes
    ----------
    visits : tuple of Visit
        All so far.
    phase : int
        Visit with which the present phase began.
    baseline : tuple of Visit
        Visits that the next one is compared with.
    past : tuple of tuple of Visit
        Earlier baselines.
    state : State
    since : date or None
        Visit from which on it has changed, or been better.
    evidence : Evidence or None
        Of the last visit; None where it cannot be compared.
    spread : Spread or None
    changed : tuple of date
        Visits at which it was found changed.
    fixed : bool
        The baseline was chosen by hand.
    """

    visits: tuple[Visit, ...] = ()
    phase: int = 0
    baseline: tuple[Visit, ...] = ()
    past: tuple[tuple[Visit, ...], ...] = ()
    state: State = State.NO_BASELINE
    since: date | None = None
    evidence: Evidence | None = None
    spread: Spread | None = None
    changed: tuple[date, ...] = ()
    fixed: bool = False

    def restarted(self) -> Course:
        """The same with a new baseline, of the last visit alone."""
        if self.fixed:
            return self
        return replace(
            self,
            phase=len(self.visits) - 1,
            baseline=(self.visits[-1],),
            past=(*self.past, self.baseline) if self.baseline else self.past,
        )


def evidence(series: Series, visit: Visit, found: Departure) -> Evidence:
    """Return what a departure says of a number.

    An offset is worse the farther it lies from zero; a number that is neither better nor worse
    has no better side.
    """
    side = {"higher": -1, "lower": 1, None: 0}[series.better]
    clearer, now = found.chance(side), tail(found.visit, found.degrees, side)
    same = tail(found.visit, found.degrees, 0)
    better = tail(found.visit, found.degrees, -side) if side else 1.0
    if series.quantity is Quantity.OFFSET and abs(visit.mean) < abs(visit.mean - found.difference):
        clearer, now, better = 1.0, 1.0, same
    return Evidence(found, clearer, now, better, same)
