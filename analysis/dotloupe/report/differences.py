"""What else differs between two settings, as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dotloupe.compare.changes import changes
from dotloupe.compare.rank import Ranking
from dotloupe.report.rounding import decimals, interval_text, number_text
from dotloupe.report.words import counted, listed, named, sentence

if TYPE_CHECKING:
    from dotloupe.compare.changes import Change


@dataclass(frozen=True)
class Difference:
    """One number of two settings.

    Attributes
    ----------
    cause, name, unit : str
    values : (str, str)
        Of the two settings.
    difference : str
        Its 95 % interval, the second setting less the first.
    differs : bool
        By more than repeats vary, as many numbers being looked at.
    """

    cause: str
    name: str
    unit: str
    values: tuple[str, str]
    difference: str
    differs: bool


@dataclass(frozen=True)
class Differences:
    """All of them, the two settings' names, and a sentence that sums them up."""

    settings: tuple[str, str]
    rows: tuple[Difference, ...]
    sentence: str


def differences(result: Any) -> Differences | None:
    """Return what else differs in a ranking of two settings; None for any other result."""
    if not isinstance(result, Ranking) or len(result.settings) != 2:
        return None
    found = changes(result)
    if not found:
        return None
    first, second = result.settings
    return Differences((first, second), tuple(map(_difference, found)), _sentence(found, result))


def _difference(change: Change) -> Difference:
    pair = change.pair
    low, high = (float("nan") if v is None else v for v in (pair.low, pair.high))
    places = decimals(pair.difference, low, high)
    return Difference(
        cause=sentence(change.cause),
        name=change.name.replace("_", " "),
        unit=change.unit,
        values=(number_text(change.before, places), number_text(change.after, places)),
        difference=interval_text(pair.difference, low, high),
        differs=change.changed,
    )


def _sentence(found: tuple[Change, ...], ranking: Ranking) -> str:
    told = [c for c in found if c.changed]
    names = listed(named(s) for s in ranking.settings)
    looked = f"{counted(len(found), 'further number')} of {names}"
    if not told:
        return f"Of {looked} none differs by more than prints vary."
    causes = listed(dict.fromkeys(c.cause for c in told))
    differ = "differs" if len(told) == 1 else "differ"
    return f"Of {looked}, {len(told)} {differ} by more than prints vary: {causes}."
