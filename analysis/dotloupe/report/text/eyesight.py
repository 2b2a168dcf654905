"""Whether the settings of a ranking can be told apart by eye, in words and as rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare import subject
from dotloupe.compare.visibility import far, seen_sentence, sight
from dotloupe.report.text.phrases import listed, named

if TYPE_CHECKING:
    from dotloupe.compare.ranking import Ranking

__all__ = ["far", "seen_sentences"]


def seen_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say whether the first and the last setting differ to the eye at the viewing distance."""
    pairs = ranking.seen
    if not pairs:
        return ()
    first = pairs[0]
    scope = ranking.scope
    names = (subject(named(first.setting), scope), subject(named(first.other), scope))
    said = [seen_sentence(names, first.by, first.interval, first.viewing_distance_mm)]
    if first.picture_sentence:
        said.append(first.picture_sentence)
    unseen = [
        subject(named(p.other), scope)
        for p in pairs[1:]
        if sight(p.interval, p.viewing_distance_mm) == "unseen"
    ]
    if unseen:
        said.append(f"From there {names[0]} looks the same as {listed(unseen, 'or')}.")
    return (*said, f"This rests on {first.limits}.")
