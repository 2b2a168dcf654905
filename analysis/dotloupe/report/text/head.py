"""Is the head due? The verdict over all numbers, in sentences for the person at the printer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from dotloupe.compare.history import Remedy, State
from dotloupe.compare.visibility import Alignment
from dotloupe.report.text.phrases import counted, listed, named
from dotloupe.report.text.trend import STATES, change_text, day_text, number_phrase

if TYPE_CHECKING:
    from datetime import date

    from dotloupe.compare.history import EyeCost, HeadVerdict, Trend

MOST_NAMED = 3
SMALLEST_CHANCE = 1e-6
NEXT = {
    Remedy.ALIGNMENT: "Align the head as the printer's maker says",
    Remedy.CLEANING: (
        "Print the maker's nozzle check, and clean the head as the maker says; each cleaning "
        "costs ink"
    ),
    Remedy.EITHER: (
        "Print the maker's nozzle check: clean the head if nozzles are missing, otherwise align "
        "it, "
        "as the maker says"
    ),
}


def head_question(verdict: HeadVerdict) -> str:
    """The question that the verdict answers."""
    return f"Is the head of “{named(verdict.printer)}” due for alignment or cleaning?"


def head_sentences(verdict: HeadVerdict) -> tuple[str, ...]:
    """Say whether the head is due, by which numbers, how sure, and what to do."""
    if verdict.due:
        return tuple(filter(None, (_due(verdict), _by(verdict), _next(verdict))))
    if verdict.due is None:
        return (_cannot_tell(verdict), _settle(verdict))
    numbers = counted(len(verdict.numbers), "number")
    day = _day(verdict, verdict.days[-1])
    better = [t for t in verdict.numbers.values() if t.state is State.BETTER]
    gained = f"Better than before: {_names(better)}." if better else ""
    first = (
        f"The head of “{named(verdict.printer)}” is not due: on {day} none of {numbers} was worse "
        "than its baseline."
    )
    return tuple(filter(None, (first, gained)))


def _due(verdict: HeadVerdict) -> str:
    since = "" if verdict.since is None else f" since {_day(verdict, verdict.since)}"
    return f"The head of “{named(verdict.printer)}” has been due for {verdict.remedy}{since}."


def _by(verdict: HeadVerdict) -> str:
    found = [verdict.numbers[name] for name in verdict.because]
    first = found[0]
    if first.change is None or first.state is State.OUT_OF_LINE:
        said = f"{_names(found)}: {STATES[first.state]}."
    else:
        said = (
            f"{number_phrase(first)} is {STATES[first.state]}, {change_text(first, first.change)}"
        )
        further = found[1:]
        said += f"; so {_are(further)} {_names(further)}." if further else "."
    chance = verdict.p_value
    sure = ""
    if chance is not None and chance < 0.05 and first.state is not State.OUT_OF_LINE:
        one_in = round(1 / max(chance, SMALLEST_CHANCE))
        more = "fewer than " if chance < SMALLEST_CHANCE else "about "
        days = f"{more}one day of prints in {_rounded(one_in)}"
        sure = f" Without a change, {days} would look like this."
    return said[:1].upper() + said[1:] + sure


def _are(trends: Sequence[Trend]) -> str:
    return "is" if len(trends) == 1 else "are"


def _names(trends: Sequence[Trend]) -> str:
    names = [number_phrase(t) for t in trends[:MOST_NAMED]]
    more = len(trends) - len(names)
    return listed([*names, f"{more} more"] if more else names)


def _rounded(count: int) -> str:
    digits = 10 ** max(len(str(count)) - 1, 0)
    return f"{count // digits * digits:,}".replace(",", "\u202f")


def head_visibility(verdict: HeadVerdict) -> tuple[str, ...]:
    """Say what the changes cost to the eye."""
    costs = [(verdict.numbers[n], c) for n in verdict.because if (c := verdict.costs.get(n))]
    if not verdict.due:
        return ()
    if not costs:
        return ("These numbers do not say whether it is visible.",)
    cm = f"{costs[0][1].viewing_distance_mm / 10:g} cm"
    seen = [t for t, c in costs if _is_seen(c)]
    steps = max((c.steps for _, c in costs if c.steps is not None), default=None)
    said = []
    if seen:
        said.append(f"At {cm} it is visible, in {_names(seen)}.")
    elif any(c.offset is Alignment.UNDECIDED for _, c in costs):
        said.append(f"These prints do not settle whether it is visible at {cm}.")
    else:
        said.append(f"At {cm} it is not visible yet.")
    if steps is not None and steps > 0:
        said.append(f"Sharpness and grain lose up to {steps:.1f} visible steps.")
    return tuple(said)


def _is_seen(cost: EyeCost) -> bool:
    return cost.offset is Alignment.MISALIGNED or (cost.steps or 0.0) >= 1


def _next(verdict: HeadVerdict) -> str:
    if verdict.tried is not None:
        day = _day(verdict, verdict.tried.happened_on)
        return f"The {verdict.tried.kind} of {day} did not help. Have the printer serviced."
    if verdict.remedy is None:
        return ""
    return f"{NEXT[verdict.remedy]}; note it as an event, and print again."


def _cannot_tell(verdict: HeadVerdict) -> str:
    who = f"These prints cannot tell yet whether the head of “{named(verdict.printer)}” is due"
    if not verdict.suspected:
        return f"{who}: there is nothing to compare them with."
    found = [verdict.numbers[name] for name in verdict.suspected]
    return f"{who}: {_names(found)} may have become worse, or this is chance."


def _settle(verdict: HeadVerdict) -> str:
    if verdict.suspected:
        return "Print the same file three more times today and add the prints; they will settle it."
    return "Add three prints from each of two days, and change nothing on the printer in between."


def _day(verdict: HeadVerdict, day: date) -> str:
    return day_text(day, (*verdict.days, *(e.happened_on for e in verdict.events)))
