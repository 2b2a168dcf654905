"""Whether the settings of a ranking can be told apart by eye, in words and as rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.seen import seen
from dotloupe.errors import InputError
from dotloupe.report.words import listed, named, phrase, sentence

if TYPE_CHECKING:
    from dotloupe.compare.rank import Ranking
    from dotloupe.compare.seen import Seen

OVERALL = "overall"
FARTHEST_MM = 20_000.0
"""Beyond which the model is not asked."""


def seen_pairs(ranking: Ranking) -> tuple[Seen, ...]:
    """The leading setting against every other one, the last of the ranking first."""
    order = [p.setting for p in ranking.criteria[OVERALL].places] or list(ranking.settings)
    found = []
    for other in reversed(order[1:]):
        try:
            found.append(seen(ranking, order[0], other))
        except InputError:
            continue
    return tuple(found)


def seen_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say whether the first and the last setting differ to the eye at the viewing distance."""
    pairs = seen_pairs(ranking)
    if not pairs:
        return ()
    distance_mm = float(ranking.parameters["viewing_distance_mm"])
    said = [_pair_sentence(pairs[0], distance_mm)]
    unseen = [named(p.other) for p in pairs[1:] if p.interval[1] < distance_mm]
    if unseen:
        said.append(
            f"From there {named(pairs[0].setting)} looks the same as {listed(unseen, 'or')}."
        )
    return (*said, f"This rests on {pairs[0].limits}.")


def far(distance_mm: float) -> str:
    """Return a distance as a person would say it."""
    if distance_mm >= FARTHEST_MM:
        return f"{FARTHEST_MM / 1000:.0f} m and more"
    if distance_mm >= 1000:
        return f"{distance_mm / 1000:.1f} m"
    return f"{distance_mm / 10:.0f} cm"


def _pair_sentence(pair: Seen, distance_mm: float) -> str:
    names = f"{named(pair.setting)} and {named(pair.other)}"
    low, high = pair.interval
    at = f"{distance_mm / 10:g} cm"
    if high == 0:
        return f"From {at} {names} look the same: no distance at which they differ to the eye."
    what = phrase(pair.by[0].criterion)
    if high < distance_mm:
        return f"From {at} {names} look the same: they differ only from closer than {far(high)}."
    if low > distance_mm:
        reach = f"up to {far(pair.distance_mm)} ({far(low)} to {far(high)})"
        return f"From {at} a keen eye can tell {names} apart, and from {reach}, by the {what}."
    if low == 0:
        reach = f"a difference as large as the prints leave open would show up to {far(high)}"
        return f"Whether {names} differ to the eye from {at} these prints do not settle: {reach}."
    reach = f"{far(pair.distance_mm)} ({far(low)} to {far(high)})"
    return sentence(
        f"a keen eye can probably tell {names} apart from {at}: by the {what}, up to {reach}."
        if pair.distance_mm >= distance_mm
        else f"a keen eye can probably not tell {names} apart from {at}: only up to {reach}."
    )
