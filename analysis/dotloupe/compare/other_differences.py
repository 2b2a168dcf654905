"""What else differs between two settings: grain by tint, and where the head puts ink."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from dotloupe.compare.number_names import VISIBLE_GRAIN, number_said
from dotloupe.compare.pairs import PairDifference, compare_pairs
from dotloupe.compare.prints import sample
from dotloupe.compare.scope import SECOND_PRINT, Scope, beyond, scope_of
from dotloupe.compare.visibility import alignment, closing_words
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import BoolArray, FloatArray
    from dotloupe.compare.ranking import Ranking

FALSE_SHARE = 0.05
"""Share of the changes claimed that may be chance.

Benjamini and Hochberg, J. R. Stat. Soc. B 57 (1995) 289; from memory.
"""
GRAIN = "visible grain by tint"
CAUSES = {
    GRAIN: (VISIBLE_GRAIN,),
    "placement of the inks": ("offset_", "passes_apart_"),
    "lines": ("raggedness_", "line_width_"),
}

MOST_NAMED = 3
"""So many numbers that were not measured well enough are named."""

Verdict: TypeAlias = Literal["differs", "level", "open"]


@dataclass(frozen=True)
class Change:
    """One number of one setting against another's.

    Attributes
    ----------
    cause : str
        The group that the number belongs to.
    name, unit : str
        The number.
    before, after : float
        Means over the prints of the two settings, in the order given.
    pair : PairDifference
        The second setting less the first.
    scope : str
        "settings" where prints were repeated; "prints" where two single prints are compared.
    verdict : str
        "differs" by more than repeats vary (of single prints, than their measurement leaves open),
        as many numbers being looked at; "level" where the interval of the difference lies within
        what an eye sees; "open" where it reaches beyond, as the number was not measured well
        enough.
    """

    cause: str
    name: str
    unit: str
    before: float
    after: float
    pair: PairDifference
    scope: Scope
    verdict: Verdict

    @property
    def changed(self) -> bool:
        """Whether the two differ beyond chance."""
        return self.verdict == "differs"


def changes(ranking: Ranking) -> tuple[Change, ...]:
    """Compare the numbers of two settings that no ranking is made of.

    Parameters
    ----------
    ranking : Ranking
        Of two settings, the earlier one first.

    Returns
    -------
    tuple of Change
        By cause, in the order of `CAUSES`.

    Raises
    ------
    InputError
        Not two settings.
    """
    if len(ranking.settings) != 2:
        raise InputError("changes are told between two settings; rank the two that you mean")
    first, second = ranking.settings
    before, after = ranking.measurements[first], ranking.measurements[second]
    found = []
    for cause, starts in CAUSES.items():
        for name in dict.fromkeys(n for m in before for n in m.numbers if n.startswith(starts)):
            old, new = sample(first, before, name), sample(second, after, name)
            if old is not None and new is not None:
                unit = next(m.numbers[name].unit for m in before if name in m.numbers)
                (pair,) = compare_pairs([new, old])
                scope = scope_of((old.n, new.n))
                level = _level(ranking, cause, old.mean, pair)
                found.append(
                    Change(
                        cause=cause,
                        name=name,
                        unit=unit,
                        before=old.mean,
                        after=new.mean,
                        pair=pair,
                        scope=scope,
                        verdict="level" if level else "open",
                    )
                )
    return _told_apart(found)


def _level(ranking: Ranking, cause: str, before: float, pair: PairDifference) -> bool:
    """Whether even the ends of the difference's interval are less than an eye sees."""
    if pair.low is None or pair.high is None:
        return False
    if cause != GRAIN:
        distance = float(ranking.parameters["viewing_distance_mm"])
        return alignment((pair.low, pair.high), distance) == "in"
    scale = ranking.visible.get("grain")
    if scale is None:
        return False
    steps = [scale.at_viewing(before + d) - scale.at_viewing(before) for d in (pair.low, pair.high)]
    return max(map(abs, steps)) < 1


def _told_apart(found: Sequence[Change]) -> tuple[Change, ...]:
    """Claim those whose chance stands out among all that were looked at."""
    if not found:
        return ()
    chances = np.array([1.0 if c.pair.p_value is None else c.pair.p_value for c in found])
    claimed = beyond_chance(chances, FALSE_SHARE)
    return tuple(
        replace(c, verdict="differs") if yes else c for c, yes in zip(found, claimed, strict=True)
    )


def beyond_chance(chances: FloatArray, false_share: float) -> BoolArray:
    """Which of many p-values to claim, so that on average this share of the claims is false.

    The step-up procedure of Benjamini and Hochberg (as `FALSE_SHARE`): the p-values up to the
    largest that lies under its rank's part of the share. `scipy.stats` has it too, and takes half
    a second to import.
    """
    ordered = np.sort(chances)
    ranks = np.arange(1, len(ordered) + 1)
    under = ordered[ordered <= false_share * ranks / len(ordered)]
    claimed: BoolArray = chances <= (under[-1] if under.size else -1.0)
    return claimed


def changes_sentence(found: Sequence[Change]) -> str:
    """Say in plain words, cause by cause, what differs beyond chance and what is left open."""
    parts = []
    for cause in dict.fromkeys(c.cause for c in found):
        own = [c for c in found if c.cause == cause]
        told, unsettled = (
            [c for c in own if c.verdict == wanted] for wanted in ("differs", "open")
        )
        more = beyond(own[0].scope)
        if told:
            said = f", by more than {more}: {'; '.join(map(_values, told))}"
        else:
            said = f": no difference by more than {more}"
        parts.append(f"{cause.capitalize()}{said}.{_not_measured(unsettled, len(own))}")
    return "\n".join(parts)


def _values(change: Change) -> str:
    first, second = change.pair.other, change.pair.setting
    return (
        f"{number_said(change.name)} {change.before:.3g} {change.unit} in {first}, "
        f"{change.after:.3g} in {second}"
    )


def _not_measured(unsettled: Sequence[Change], of: int) -> str:
    if not unsettled:
        return ""
    if len(unsettled) > MOST_NAMED:
        return f" Not measured well enough to call level: {len(unsettled)} of {of}."
    named = ", ".join(f"{number_said(c.name)}{_give_or_take(c)}" for c in unsettled)
    return f" Not measured well enough to call level: {named}."


def _give_or_take(change: Change) -> str:
    low, high = change.pair.low, change.pair.high
    if low is None or high is None:
        return ""
    return f" (± {(high - low) / 2:.2g} {change.unit})"


def closing_sentence(found: Sequence[Change], ranking: Ranking) -> str:
    """Say at last whether anything differs beyond chance, and whether it is seen."""
    causes = list(dict.fromkeys(c.cause for c in found if c.changed))
    which = "the two settings" if ranking.scope == "settings" else "these two prints"
    listed = " and ".join(filter(None, (", ".join(causes[:-1]), *causes[-1:])))
    where = f"in {listed}" if causes else "in nothing that was looked at"
    seen = f"; {closing_words(ranking.seen[0])}" if ranking.seen else ""
    further = f" {SECOND_PRINT}" if ranking.scope == "prints" else ""
    return f"In all, {which} differ {where} by more than {beyond(ranking.scope)}{seen}.{further}"
