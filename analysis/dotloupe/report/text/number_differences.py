"""What else differs between two settings, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare import DifferenceVerdict, number_differences, number_said
from dotloupe.report.text.phrases import listed
from dotloupe.report.text.scope import SECOND_PRINT, beyond
from dotloupe.report.text.visibility import visibility_clause

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare import NumberDifference
    from dotloupe.compare.ranking import Ranking

MOST_NAMED = 3
"""So many numbers that were not measured well enough are named."""


def differences_lines(ranking: Ranking) -> tuple[str, ...]:
    """Say what else differs in a ranking of two settings: a line a group, then what it comes to."""
    found = number_differences(ranking)
    return (*differences_by_group(found), differences_conclusion(found, ranking))


def differences_by_group(found: Sequence[NumberDifference]) -> tuple[str, ...]:
    """Say what differs beyond chance and what is undecided, a line for each group of numbers."""
    lines = []
    for group in dict.fromkeys(d.group for d in found):
        own = [d for d in found if d.group == group]
        more = beyond(own[0].scope)
        values = "; ".join(_values(d) for d in own if d.differs)
        said = (
            f", by more than {more}: {values}" if values else f": no difference by more than {more}"
        )
        lines.append(f"{group.capitalize()}{said}.{_undecided(own)}")
    return tuple(lines)


def differences_conclusion(found: Sequence[NumberDifference], ranking: Ranking) -> str:
    """Say at last whether anything differs beyond chance, and whether it is seen."""
    groups = dict.fromkeys(d.group for d in found if d.differs)
    which = "the two settings" if ranking.scope == "settings" else "these two prints"
    where = f"in {listed(groups)}" if groups else "in nothing that was looked at"
    visible = f"; {visibility_clause(ranking.visibility[0])}" if ranking.visibility else ""
    further = f" {SECOND_PRINT}" if ranking.scope == "prints" else ""
    return f"In all, {which} differ {where} by more than {beyond(ranking.scope)}{visible}.{further}"


def _values(difference: NumberDifference) -> str:
    first, second = difference.pair.other, difference.pair.setting
    return (
        f"{number_said(difference.measurand)} "
        f"{difference.before:.3g} {difference.unit} in {first}, "
        f"{difference.after:.3g} in {second}"
    )


def _undecided(own: Sequence[NumberDifference]) -> str:
    undecided = [d for d in own if d.verdict is DifferenceVerdict.UNDECIDED]
    if not undecided:
        return ""
    if len(undecided) > MOST_NAMED:
        return f" Too uncertain to call equal: {len(undecided)} of {len(own)}."
    named = ", ".join(f"{number_said(d.measurand)}{_give_or_take(d)}" for d in undecided)
    return f" Too uncertain to call equal: {named}."


def _give_or_take(difference: NumberDifference) -> str:
    low, high = difference.pair.low, difference.pair.high
    if low is None or high is None:
        return ""
    return f" (± {(high - low) / 2:.2g} {difference.unit})"
