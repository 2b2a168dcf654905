"""Results as they are written to JSON: their data with messages for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text import (
    MODEL_LIMITS,
    caution_text,
    pair_sentence,
    picture_sentence,
    subject,
)
from dotloupe.storage import plain

if TYPE_CHECKING:
    from dotloupe.compare import Scope
    from dotloupe.compare.ranking import Ranking
    from dotloupe.compare.visibility import PairVisibility

JsonObject = dict[str, object]


def ranking_json(ranking: Ranking) -> JsonObject:
    """Return a ranking ready for JSON, with sentences on what is visible."""
    seen = [_pair_json(pair, ranking.scope) for pair in ranking.visibility]
    return {**ranking.to_dict(caution_text), "seen": seen}


def _pair_json(pair: PairVisibility, scope: Scope) -> JsonObject:
    names = (subject(pair.setting, scope), subject(pair.other, scope))
    picture = pair.picture
    return {
        **plain(pair),
        "sentence": pair_sentence(pair, names),
        "picture_sentence": (
            "" if picture is None else picture_sentence(picture, pair.viewing_distance_mm)
        ),
        "limits": MODEL_LIMITS,
    }
