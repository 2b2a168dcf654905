"""All settings on one criterion: places, ties and what the prints cannot say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.cautions import (
    KnownSpreadLeftOut,
    KnownSpreadTaken,
    NoValue,
    OnePrintEach,
    SinglePrints,
    TwoPrints,
    UnknownSpread,
    WithinUnnoticedFaults,
)
from dotloupe.compare.known_spread import KnownSpread, agrees
from dotloupe.compare.pairs import PairDifference, compare_pairs
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.compare.ranking.ties import letters, tie_groups
from dotloupe.compare.scope import Scope, scope_of
from dotloupe.fitness import NOTICED_LOSS_PERCENT
from dotloupe.number import Quantity
from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.cautions import Caution
    from dotloupe.number import Criterion


@dataclass(frozen=True)
class Place:
    """Where one setting stands on one criterion.

    Attributes
    ----------
    setting : str
        Its name.
    place : int
        One more than the number of settings that are better beyond what repeats vary.
    tied_with : tuple of str
        Settings that cannot be told apart from it.
    value, low, high : float
        Mean over the prints and its 95 % interval, in the criterion's unit.
    n : int
        Number of prints.
    letters : str
        Two settings that share a letter cannot be told apart.
    prints : tuple of PrintValue
        Value of each print.
    at_least : bool
        The mean is a lower bound: the setting may be better than its place.
    """

    setting: str
    place: int
    tied_with: tuple[str, ...]
    value: float
    low: float
    high: float
    n: int
    letters: str
    prints: tuple[PrintValue, ...]
    at_least: bool = False


@dataclass(frozen=True)
class CriterionRanking:
    """All settings on one criterion, best first.

    Attributes
    ----------
    name, unit, better, title : str
        The criterion.
    places : tuple of Place
        From best to worst.
    pairs : tuple of PairDifference
        Every pair, the better setting first.
    groups : tuple of tuple of str
        Largest groups in which no two settings can be told apart; the letters in `places`.
    smallest_difference : float or None
        True difference that this test would have found between any two settings with 80 % chance.
    scope : str
        "settings" where prints were repeated; "prints" where the verdict holds for the prints in
        hand only, because no setting was printed twice.
    cautions : tuple of Caution
        What this criterion cannot say.
    """

    name: str
    unit: str
    better: str
    title: str
    places: tuple[Place, ...]
    pairs: tuple[PairDifference, ...]
    groups: tuple[tuple[str, ...], ...]
    smallest_difference: float | None
    scope: Scope
    cautions: tuple[Caution, ...]


def rank_criterion(
    criterion: Criterion,
    samples: Sequence[Sample],
    settings: Sequence[str],
    *,
    known: KnownSpread | None = None,
) -> CriterionRanking:
    """Rank the settings on one criterion, with ties.

    Parameters
    ----------
    criterion : Criterion
    samples : sequence of Sample
        Of the settings that have it.
    settings : sequence of str
        All settings, those without it among them.
    known : KnownSpread, optional
        How prints are known to vary; taken where these prints leave nothing against it.

    Returns
    -------
    CriterionRanking
    """
    sign = 1 if criterion.better == "higher" else -1
    ordered = sorted(samples, key=lambda s: -sign * s.least)
    if known is not None and ordered:
        known = known.at(sum(s.least for s in ordered) / len(ordered))
    taken = known if known is not None and agrees(known, ordered) else None
    pairs = compare_pairs(ordered, known=taken) if len(ordered) > 1 else ()
    apart = [(p.setting, p.other) for p in pairs if p.distinguishable]
    names = [s.setting for s in ordered]
    groups = tie_groups(names, apart) if names else ()
    letter = letters(names, groups)
    places = tuple(
        _place(s, apart, names, letter[s.setting], _interval(s, ordered, criterion.lowest))
        for s in ordered
    )
    smallest = [p.smallest_difference for p in pairs if p.smallest_difference is not None]
    return CriterionRanking(
        name=criterion.name,
        unit=criterion.unit,
        better=criterion.better,
        title=criterion.title,
        places=places,
        pairs=pairs,
        groups=groups,
        smallest_difference=max(smallest) if smallest else None,
        scope=scope_of(s.n for s in samples),
        cautions=(
            *_criterion_cautions(samples, settings, pairs),
            *_within_unnoticed_faults(criterion, samples, pairs),
            *_of_known(known, taken),
        ),
    )


def _place(
    s: Sample,
    apart: Sequence[tuple[str, str]],
    names: Sequence[str],
    letter: str,
    interval: tuple[float, float],
) -> Place:
    # pairs hold the better setting first
    better = [a for a, b in apart if b == s.setting]
    worse = [b for a, b in apart if a == s.setting]
    tied = tuple(n for n in names if n != s.setting and n not in better and n not in worse)
    return Place(
        setting=s.setting,
        place=1 + len(better),
        tied_with=tied,
        value=s.least if s.at_least else s.mean,
        low=interval[0],
        high=interval[1],
        n=s.n,
        letters=letter,
        prints=s.prints,
        at_least=s.at_least,
    )


def _interval(s: Sample, samples: Sequence[Sample], lowest: float) -> tuple[float, float]:
    """95 % interval of a setting's mean: by its own prints, else by the others' spread.

    Never narrower than the photographs' own intervals say; open above for a lower bound, and cut at
    the least value that there can be.
    """
    if s.at_least:
        return s.least, float("inf")
    halves = [NORMAL_95 * np.sqrt(s.within_variance / s.n)]
    known = [other for other in samples if not other.at_least]
    degrees = sum(other.n - 1 for other in known)
    if s.n > 1:
        halves.append(
            float(scipy.special.stdtrit(s.n - 1, 0.975)) * np.sqrt(s.between_variance / s.n)
        )
    elif degrees:
        spread = sum((o.n - 1) * o.between_variance for o in known if o.n > 1) / degrees
        halves.append(float(scipy.special.stdtrit(degrees, 0.975)) * np.sqrt(spread))
    half = float(np.fmax.reduce(halves))
    return max(s.mean - half, lowest), s.mean + half


def _of_known(known: KnownSpread | None, taken: KnownSpread | None) -> list[Caution]:
    """What was assumed of the known spread."""
    if known is None:
        return []
    sd = float(np.sqrt(known.variance))
    return [
        KnownSpreadLeftOut(sd, known.degrees)
        if taken is None
        else KnownSpreadTaken(sd, known.degrees)
    ]


def _criterion_cautions(
    samples: Sequence[Sample], settings: Sequence[str], pairs: Sequence[PairDifference]
) -> list[Caution]:
    present = {s.setting for s in samples}
    found: list[Caution] = [NoValue(s) for s in settings if s not in present]
    single = [s.setting for s in samples if s.n == 1]
    if single and len(single) == len(samples):
        found.append(OnePrintEach())
    elif single:
        found.append(SinglePrints(tuple(single)))
    if any(s.n == 2 for s in samples):
        found.append(TwoPrints())
    if any(p.p_value is None for p in pairs):
        found.append(UnknownSpread())
    return found


def _within_unnoticed_faults(
    criterion: Criterion, samples: Sequence[Sample], pairs: Sequence[PairDifference]
) -> list[Caution]:
    """Differences that a blur below what photographs are warned of could make by itself.

    Further prints are photographed by themselves, so that what they differ by holds such faults.
    """
    if criterion.measurand.quantity not in (Quantity.DETAIL, Quantity.GRAIN):
        return []
    single = {s.setting for s in samples if s.n == 1}
    small = tuple(
        (p.setting, p.other)
        for p in pairs
        if p.distinguishable
        and {p.setting, p.other} & single
        and p.percent is not None
        and abs(p.percent) < NOTICED_LOSS_PERCENT
    )
    return [WithinUnnoticedFaults(small, NOTICED_LOSS_PERCENT)] if small else []
