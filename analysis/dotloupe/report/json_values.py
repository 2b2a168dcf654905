"""Results as they are written to JSON: their data with messages for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text import (
    MODEL_LIMITS,
    advice_sentence,
    camera_sentence,
    caution_text,
    effects_sentences,
    head_sentences,
    head_visibility,
    pair_sentence,
    picture_sentence,
    recommendation_sentence,
    repeat_sentences,
    subject,
)
from dotloupe.storage import plain

if TYPE_CHECKING:
    from dotloupe.compare import Scope
    from dotloupe.compare.effects import Effects
    from dotloupe.compare.history import HeadVerdict, Trend
    from dotloupe.compare.ladder import Ladder, Recommendation
    from dotloupe.compare.ranking import Ranking
    from dotloupe.compare.repeatability import Repeatability
    from dotloupe.compare.visibility import PairVisibility

JsonObject = dict[str, object]


def ranking_json(ranking: Ranking) -> JsonObject:
    """Return a ranking ready for JSON, its cautions and what is visible in sentences."""
    seen = [_pair_json(pair, ranking.scope) for pair in ranking.visibility]
    return {**ranking.to_dict(caution_text), "seen": seen}


def ladder_json(ladder: Ladder) -> JsonObject:
    """Return a ladder ready for JSON, its cautions and what ends it in sentences."""
    criteria = {
        name: {**c.to_dict(caution_text), "camera_sentence": camera_sentence(c)}
        for name, c in ladder.criteria.items()
    }
    return {**ladder.to_dict(caution_text), "criteria": criteria}


def effects_json(effects: Effects) -> JsonObject:
    """Return effects ready for JSON, with what they say in sentences."""
    said = {name: effects_sentences(effects, c) for name, c in effects.criteria.items()}
    content = effects.to_dict(caution_text)
    return {**content, "sentences": {name: list(each) for name, each in said.items() if each}}


def trend_json(trend: Trend) -> JsonObject:
    """Return a trend ready for JSON, its cautions and its advice in sentences."""
    return {**trend.to_dict(caution_text), "advice": advice_sentence(trend)}


def head_json(verdict: HeadVerdict) -> JsonObject:
    """Return whether the head is due ready for JSON, in sentences too."""
    return {
        **verdict.to_dict(caution_text),
        "sentences": [*head_sentences(verdict), *head_visibility(verdict)],
    }


def repeat_json(found: Repeatability) -> JsonObject:
    """Return how well printer and set-up repeat ready for JSON, in sentences too."""
    return {**found.to_dict(caution_text), "sentences": list(repeat_sentences(found))}


def recommendation_json(found: Recommendation) -> JsonObject:
    """Return what to send for a picture ready for JSON, with the advice in a sentence."""
    return {**found.to_dict(), "sentence": recommendation_sentence(found)}


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
