"""What else differs between two settings: grain by tint, and where the head puts ink."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.pairs import PairDifference, compare_pairs
from dotloupe.compare.prints import sample
from dotloupe.compare.scope import Scope, scope_of
from dotloupe.compare.visibility import Alignment, alignment
from dotloupe.errors import InputError
from dotloupe.measurement import measurands
from dotloupe.number import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import BoolArray, FloatArray
    from dotloupe.compare.prints import Sample
    from dotloupe.compare.ranking import Ranking
    from dotloupe.number import Measurand

FALSE_SHARE = 0.05
"""Share of the differences claimed that may be chance.

Benjamini and Hochberg, J. R. Stat. Soc. B 57 (1995) 289; from memory.
"""


class NumberGroup(StrEnum):
    """What the further numbers of a print are about."""

    GRAIN = "visible grain by tint"
    INK_PLACEMENT = "placement of the inks"
    LINES = "lines"


QUANTITIES = {
    NumberGroup.GRAIN: (Quantity.VISUAL_GRAININESS,),
    NumberGroup.INK_PLACEMENT: (Quantity.OFFSET, Quantity.PASSES_APART),
    NumberGroup.LINES: (Quantity.RAGGEDNESS, Quantity.LINE_WIDTH),
}


class DifferenceVerdict(StrEnum):
    """What the prints say of one number of two settings."""

    DIFFERS = "differs"
    EQUAL = "level"
    UNDECIDED = "open"


@dataclass(frozen=True)
class NumberDifference:
    """One number of one setting against another's.

    Attributes
    ----------
    group : NumberGroup
        The group that the number belongs to.
    measurand : Measurand
    unit : str
    before, after : float
        Means over the prints of the two settings, in the order given.
    pair : PairDifference
        The second setting less the first.
    scope : str
        "settings" where prints were repeated; "prints" where two single prints are compared.
    verdict : DifferenceVerdict
        Differs by more than repeats vary (of single prints, than their measurement leaves open),
        as many numbers being looked at; equal where the interval of the difference lies within
        what an eye sees; undecided where it reaches beyond, as the number was not measured well
        enough.
    """

    group: NumberGroup
    measurand: Measurand
    unit: str
    before: float
    after: float
    pair: PairDifference
    scope: Scope
    verdict: DifferenceVerdict

    @property
    def name(self) -> str:
        """Name of the number in JSON."""
        return self.measurand.name

    @property
    def differs(self) -> bool:
        """Whether the two differ beyond chance."""
        return self.verdict is DifferenceVerdict.DIFFERS


def number_differences(ranking: Ranking) -> tuple[NumberDifference, ...]:
    """Compare the numbers of two settings that no ranking is made of.

    Parameters
    ----------
    ranking : Ranking
        Of two settings, the earlier one first.

    Returns
    -------
    tuple of NumberDifference
        By group, in the order of `NumberGroup`.

    Raises
    ------
    InputError
        Not two settings.
    """
    if len(ranking.settings) != 2:
        raise InputError("further differences are of two settings: rank the two that you mean")
    first, second = ranking.settings
    before, after = ranking.measurements[first], ranking.measurements[second]
    found = []
    for group, quantities in QUANTITIES.items():
        for measurand in measurands(before, *quantities):
            name = measurand.name
            old, new = sample(first, before, name), sample(second, after, name)
            if old is not None and new is not None:
                unit = next(m.numbers[name].unit for m in before if name in m.numbers)
                found.append(_number_difference(ranking, group, (measurand, unit), (old, new)))
    return _claimed(found)


def _number_difference(
    ranking: Ranking,
    group: NumberGroup,
    number: tuple[Measurand, str],
    samples: tuple[Sample, Sample],
) -> NumberDifference:
    """One number, with its unit, before any is claimed to differ."""
    old, new = samples
    (pair,) = compare_pairs([new, old])
    equal = _equal(ranking, group, old.mean, pair)
    return NumberDifference(
        group=group,
        measurand=number[0],
        unit=number[1],
        before=old.mean,
        after=new.mean,
        pair=pair,
        scope=scope_of((old.n, new.n)),
        verdict=DifferenceVerdict.EQUAL if equal else DifferenceVerdict.UNDECIDED,
    )


def _equal(ranking: Ranking, group: NumberGroup, before: float, pair: PairDifference) -> bool:
    """Whether even the ends of the difference's interval are less than an eye sees."""
    if pair.low is None or pair.high is None:
        return False
    if group is not NumberGroup.GRAIN:
        distance = ranking.viewing_distance_mm
        return alignment((pair.low, pair.high), distance) is Alignment.ALIGNED
    scale = ranking.scales.get("grain")
    if scale is None:
        return False
    steps = [scale.at_viewing(before + d) - scale.at_viewing(before) for d in (pair.low, pair.high)]
    return max(map(abs, steps)) < 1


def _claimed(found: Sequence[NumberDifference]) -> tuple[NumberDifference, ...]:
    """Claim those whose chance stands out among all that were looked at."""
    if not found:
        return ()
    chances = np.array([1.0 if c.pair.p_value is None else c.pair.p_value for c in found])
    claimed = beyond_chance(chances, FALSE_SHARE)
    return tuple(
        replace(c, verdict=DifferenceVerdict.DIFFERS) if yes else c
        for c, yes in zip(found, claimed, strict=True)
    )


def beyond_chance(chances: FloatArray, false_share: float) -> BoolArray:
    """Which of many p-values to claim, so that on average this share of the claims is false.

    Parameters
    ----------
    chances : ndarray (n,)
        The p-values.
    false_share : float
        Largest mean share of false claims.

    Returns
    -------
    bool ndarray (n,)

    Notes
    -----
    The step-up procedure of Benjamini and Hochberg (as `FALSE_SHARE`): the p-values up to the
    largest that lies under its rank's part of the share. `scipy.stats` has it too, and takes half
    a second to import.
    """
    ordered = np.sort(chances)
    ranks = np.arange(1, len(ordered) + 1)
    under = ordered[ordered <= false_share * ranks / len(ordered)]
    claimed: BoolArray = chances <= (under[-1] if under.size else -1.0)
    return claimed
