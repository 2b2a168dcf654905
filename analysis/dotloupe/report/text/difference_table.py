"""What else differs between two settings, as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.compare import DifferenceVerdict, number_differences
from dotloupe.compare.visibility import just_visible_um
from dotloupe.report.text.phrases import counted, listed, quoted, sentence
from dotloupe.report.text.rounding import decimals, interval_text, number_text
from dotloupe.report.text.scope import SECOND_PRINT, beyond, subject

if TYPE_CHECKING:
    from dotloupe.compare import NumberDifference
    from dotloupe.compare.ranking import Ranking


VERDICTS = {
    DifferenceVerdict.DIFFERS: "differs",
    DifferenceVerdict.EQUAL: "equal",
    DifferenceVerdict.UNDECIDED: "too uncertain",
}


@dataclass(frozen=True)
class Difference:
    """One number of two settings.

    Attributes
    ----------
    cause, name, title, unit : str
        The group, and what the number is called in it and by itself.
    values : (str, str)
        Of the two settings.
    difference : str
        Its 95 % interval, the second setting less the first.
    verdict : str
        In words.
    found : DifferenceVerdict
    """

    cause: str
    name: str
    title: str
    unit: str
    values: tuple[str, str]
    difference: str
    verdict: str
    found: DifferenceVerdict


@dataclass(frozen=True)
class Differences:
    """All of them, the two settings' names, and words on them.

    Attributes
    ----------
    settings : (str, str)
    rows : tuple of Difference
    sentence : str
        What they come to.
    caption : str
        How the verdicts are meant.
    """

    settings: tuple[str, str]
    rows: tuple[Difference, ...]
    sentence: str
    caption: str


def differences(ranking: Ranking) -> Differences | None:
    """Return what else differs in a ranking of two settings; None of more."""
    if len(ranking.settings) != 2:
        return None
    found = number_differences(ranking)
    if not found:
        return None
    first, second = ranking.settings
    rows = tuple(map(_difference, found))
    return Differences((first, second), rows, _sentence(found, ranking), _caption(ranking))


def _difference(found: NumberDifference) -> Difference:
    pair = found.pair
    low, high = (float("nan") if v is None else v for v in (pair.low, pair.high))
    places = decimals(pair.difference, low, high)
    return Difference(
        cause=sentence(found.group),
        name=found.measurand.phrase,
        title=found.measurand.title,
        unit=found.unit,
        values=(number_text(found.before, places), number_text(found.after, places)),
        difference=interval_text(pair.difference, low, high),
        verdict=VERDICTS[found.verdict],
        found=found.verdict,
    )


def _sentence(found: tuple[NumberDifference, ...], ranking: Ranking) -> str:
    told = [c for c in found if c.differs]
    unsettled = [c for c in found if c.verdict is DifferenceVerdict.UNDECIDED]
    names = listed(subject(quoted(s), ranking.scope) for s in ranking.settings)
    looked = f"{counted(len(found), 'further number')} of {names}"
    more = beyond(ranking.scope)
    open_ones = ""
    if unsettled:
        were = "was" if len(unsettled) == 1 else "were"
        open_ones = f" {len(unsettled)} {were} too uncertain to call equal."
    if ranking.scope == "prints":
        open_ones += f" {SECOND_PRINT}"
    if not told:
        return f"None of {looked} differs by more than {more}.{open_ones}"
    causes = listed(dict.fromkeys(c.group for c in told))
    differ = "differs" if len(told) == 1 else "differ"
    return f"{len(told)} of {looked} {differ} by more than {more}: {causes}.{open_ones}"


def _caption(ranking: Ranking) -> str:
    distance_mm = ranking.viewing_distance_mm
    return (
        "Differs: at most one in twenty of these is due to chance. Equal: the whole interval lies "
        f"below what an eye sees at {distance_mm / 10:g} cm, "
        f"{just_visible_um(distance_mm):.0f} um of place or width or one visible step of grain. "
        "Too uncertain: the interval reaches beyond that."
    )
