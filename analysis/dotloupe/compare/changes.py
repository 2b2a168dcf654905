"""What else changed between two settings: grain by tint, and where the head puts ink."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import false_discovery_control

from dotloupe.compare.gather import sample
from dotloupe.compare.pairs import PairDifference, compare_pairs
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.rank import Ranking

FALSE_SHARE = 0.05
"""Share of the changes claimed that may be chance (Benjamini and Hochberg 1995, from memory)."""
CAUSES = {
    "grain by tint": ("visual_graininess_",),
    "placement of the inks": ("offset_", "passes_apart_"),
    "lines": ("raggedness_", "line_width_"),
}


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
    changed : bool
        By more than repeats vary, as many numbers being looked at.
    """

    cause: str
    name: str
    unit: str
    before: float
    after: float
    pair: PairDifference
    changed: bool


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
                found.append(Change(cause, name, unit, old.mean, new.mean, pair, changed=False))
    return _told_apart(found)


def _told_apart(found: Sequence[Change]) -> tuple[Change, ...]:
    """Claim those whose chance stands out among all that were looked at."""
    if not found:
        return ()
    chances = np.array([1.0 if c.pair.p_value is None else c.pair.p_value for c in found])
    claimed = false_discovery_control(chances) <= FALSE_SHARE
    return tuple(
        Change(c.cause, c.name, c.unit, c.before, c.after, c.pair, bool(yes))
        for c, yes in zip(found, claimed, strict=True)
    )


def changes_sentence(found: Sequence[Change]) -> str:
    """Say in plain words, cause by cause, what changed by more than repeats vary."""
    parts = []
    for cause in dict.fromkeys(c.cause for c in found):
        told = [c for c in found if c.cause == cause and c.changed]
        if told:
            listed = "; ".join(
                f"{plain_name(c.name)} from {c.before:.3g} to {c.after:.3g} {c.unit}" for c in told
            )
            parts.append(f"{cause.capitalize()} changed by more than repeats vary: {listed}.")
        else:
            parts.append(f"{cause.capitalize()}: no change beyond what repeats vary by.")
    return "\n".join(parts)


def closing_sentence(found: Sequence[Change], ranking: Ranking) -> str:
    """Say at last whether anything changed by more than repeats vary, and whether it is seen."""
    causes = list(dict.fromkeys(c.cause for c in found if c.changed))
    if causes:
        listed = " and ".join(filter(None, (", ".join(causes[:-1]), causes[-1])))
        changed = f"{listed} changed by more than repeats vary"
    else:
        changed = "nothing changed by more than repeats vary"
    return f"In all, {changed}{_seen(ranking)}."


def plain_name(name: str) -> str:
    """Return what a sentence calls a number: `offset_cyan_x` is cyan along x."""
    for start in ("visual_graininess_", "offset_"):
        name = name.removeprefix(start)
    stem, _, axis = name.rpartition("_")
    said = f"{stem} along {axis}" if axis in ("x", "y") else name
    return said.replace("_", " ")


def _seen(ranking: Ranking) -> str:
    """Whether detail and grain let an eye tell the two apart from where they are looked at."""
    if not ranking.seen:
        return ""
    pair = ranking.seen[0]
    near, far = pair.interval
    at = f"from {pair.viewing_distance_mm / 10:g} cm"
    if near >= pair.viewing_distance_mm:
        return f"; a keen eye sees the difference {at}, and up to about {near / 10:.0f} cm at least"
    if far < pair.viewing_distance_mm:
        return f"; {at} even a keen eye does not see the difference in detail and grain"
    return f"; whether a keen eye sees the difference {at} is not settled by these prints"
