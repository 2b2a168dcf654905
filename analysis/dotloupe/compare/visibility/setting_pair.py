"""Whether an eye can tell two settings apart, and from how far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare.prints import sample
from dotloupe.compare.scope import subject
from dotloupe.compare.visibility.picture_difference import PictureSeen
from dotloupe.compare.visibility.print_images import prints_seen
from dotloupe.compare.visibility.words import picture_sentence, seen_sentence
from dotloupe.errors import InputError
from dotloupe.storage import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.compare.pairs import PairDifference
    from dotloupe.compare.ranking import Ranking
    from dotloupe.compare.visibility.visible_steps import VisibleScale

LOOKED_AT = ("detail_x", "detail_y", "grain")

LIMITS = (
    "a model of a keen eye in good light with both prints side by side, after Barten's contrast "
    "sensitivity; it is not a jury of people"
)


@dataclass(frozen=True)
class SeenBy:
    """What one criterion alone lets an eye tell apart.

    Attributes
    ----------
    criterion : str
        Its name.
    steps : float
        Just visible steps between the two at the viewing distance; the two are told apart from
        there exactly where it is 1 or more.
    steps_interval : tuple of float
        At both ends of the difference's interval; 0 where the prints do not tell them apart.
    distance_mm : float
        Largest distance at which the difference measured could be seen; 0 for none, and never
        beyond 20 m.
    interval : tuple of float
        The same at both ends of the difference's interval.
    """

    criterion: str
    steps: float
    steps_interval: Interval
    distance_mm: float
    interval: Interval


@dataclass(frozen=True)
class Seen:
    """From how far two settings could be told apart by eye.

    Attributes
    ----------
    setting, other : str
        The two.
    viewing_distance_mm : float
        Distance for which the steps hold.
    distance_mm : float
        Largest distance over all criteria.
    interval : tuple of float
        Its interval.
    by : tuple of SeenBy
        Each criterion alone, the farthest first.
    picture : PictureSeen or None
        The prints of the patch laid on each other: what differs in the same place of every print,
        in tone, colour or sharpness. Grain, which lies elsewhere in each, is not in it. None where
        the photographs are not at hand.
    sentence, picture_sentence : str
        The results in words; the latter empty without pictures.
    limits : str
        What it rests on.
    """

    setting: str
    other: str
    viewing_distance_mm: float
    distance_mm: float
    interval: Interval
    by: tuple[SeenBy, ...]
    picture: PictureSeen | None
    sentence: str
    picture_sentence: str
    limits: str

    def to_dict(self) -> dict[str, Any]:
        """Everything, ready for JSON."""
        result: dict[str, Any] = plain(self)
        return result


def seen(ranking: Ranking, setting: str, other: str) -> Seen:
    """From how far two settings of a ranking could be told apart by their detail and grain.

    Parameters
    ----------
    ranking : Ranking
    setting, other : str
        Two of its settings.

    Returns
    -------
    Seen

    Raises
    ------
    InputError
        No such setting, or no detail and no grain that both have.

    Notes
    -----
    The scales are those of "overall". The measured transfer of the edges and the noise power of
    the tints give their shape where the measurements hold them; else the Gaussian blur of the same
    MTF50, and even noise of the same visible grain on a mid tint.
    """
    for name in (setting, other):
        if name not in ranking.measurements:
            raise InputError(f"setting {name}: not ranked, choose of {', '.join(ranking.settings)}")
    if setting == other:
        raise InputError(f"setting {setting}: give another one to compare it with")
    found = [
        _seen_by(ranking, ranking.visible[criterion], pair)
        for criterion in LOOKED_AT
        if criterion in ranking.visible
        and (pair := _pair(ranking.criteria[criterion].pairs, setting, other)) is not None
    ]
    if not found:
        raise InputError(f"settings {setting} and {other}: no detail and no grain that both have")
    by = tuple(sorted(found, key=lambda s: (-s.distance_mm, -s.steps)))
    interval = (max(s.interval[0] for s in by), max(s.interval[1] for s in by))
    viewing = float(ranking.parameters["viewing_distance_mm"])
    picture = prints_seen(ranking.measurements[setting], ranking.measurements[other])
    return Seen(
        setting=setting,
        other=other,
        viewing_distance_mm=viewing,
        distance_mm=by[0].distance_mm,
        interval=interval,
        by=by,
        picture=picture,
        sentence=seen_sentence(
            (subject(setting, ranking.scope), subject(other, ranking.scope)), by, interval, viewing
        ),
        picture_sentence=picture_sentence(picture, viewing),
        limits=LIMITS,
    )


def seen_pairs(ranking: Ranking) -> tuple[Seen, ...]:
    """The leading setting against every other one, the last of the ranking first."""
    order = [p.setting for p in ranking.criteria["overall"].places] or list(ranking.settings)
    found = []
    for other in reversed(order[1:]):
        try:
            found.append(seen(ranking, order[0], other))
        except InputError:
            continue
    return tuple(found)


def _pair(pairs: Sequence[PairDifference], setting: str, other: str) -> PairDifference | None:
    return next((p for p in pairs if {p.setting, p.other} == {setting, other}), None)


def _seen_by(ranking: Ranking, scale: VisibleScale, pair: PairDifference) -> SeenBy:
    """Steps and distances for the difference seen and for both ends of its interval."""
    samples = [
        sample(s, ranking.measurements[s], scale.criterion) for s in (pair.setting, pair.other)
    ]
    first, second = (
        np.mean([scale.curve(v) for v in s.values], axis=0) if s else 0.0 for s in samples
    )
    middle = float(np.mean([s.mean for s in samples if s]))
    apart = np.abs(first - second)
    low, high = np.zeros_like(apart), np.full_like(apart, np.inf)
    if pair.low is not None and pair.high is not None:
        nearest, farthest = sorted((abs(pair.low), abs(pair.high)))
        if pair.low * pair.high > 0:
            low = np.minimum(_steps_apart(scale, middle, nearest), apart)
        high = np.maximum(_steps_apart(scale, middle, farthest), apart)
    steps = [float(curve[scale.viewing]) for curve in (apart, low, high)]
    reach = [scale.reach_mm(curve) for curve in (apart, low, high)]
    return SeenBy(scale.criterion, steps[0], (steps[1], steps[2]), reach[0], (reach[1], reach[2]))


def _steps_apart(scale: VisibleScale, middle: float, difference: float) -> FloatArray:
    """Steps between two values that far apart about `middle`, at every distance."""
    ends = (middle - difference / 2, middle + difference / 2)
    return np.abs(scale.curve(ends[1]) - scale.curve(ends[0]))
