"""Whether an eye can tell two settings apart, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.visibility import FARTHEST_MM, Visibility, visibility_at
from dotloupe.report.text.phrases import listed, phrase, quoted, sentence
from dotloupe.report.text.scope import subject

if TYPE_CHECKING:
    from dotloupe.arrays import Interval
    from dotloupe.compare.ranking import Ranking
    from dotloupe.compare.visibility import (
        CriterionVisibility,
        PairVisibility,
        PictureVisibility,
    )

NEAR_POINT_MM = 250.0
"""Distance of clear seeing that magnifiers are rated for."""

MODEL_LIMITS = (
    "A model of the eye predicts this, after Barten's contrast sensitivity: a keen eye, good "
    "light, prints side by side. No people were asked."
)


def ranking_visibility(ranking: Ranking) -> tuple[str, ...]:
    """Say whether the first and the last setting differ to the eye at the viewing distance."""
    pairs = ranking.visibility
    if not pairs:
        return ()
    first, scope = pairs[0], ranking.scope
    names = (subject(quoted(first.setting), scope), subject(quoted(first.other), scope))
    said = [pair_sentence(first, names)]
    if first.picture is not None:
        said.append(picture_sentence(first.picture, first.viewing_distance_mm))
    alike = [
        subject(quoted(p.other), scope)
        for p in pairs[1:]
        if visibility_at(p.interval, p.viewing_distance_mm) is Visibility.NOT_VISIBLE
    ]
    if alike:
        said.append(
            f"At {_cm(first.viewing_distance_mm)}, {names[0]} looks the same as "
            f"{listed(alike, 'or')}."
        )
    return (*said, MODEL_LIMITS)


def pair_sentence(found: PairVisibility, names: tuple[str, str]) -> str:
    """Say from how far two settings look different, first of all at the viewing distance.

    Every distance is that of the criterion named beside it.

    Parameters
    ----------
    found : PairVisibility
    names : pair of str
        The two settings as they are to stand in the sentence.
    """
    pair, by, at = " and ".join(names), found.by, _cm(found.viewing_distance_mm)
    visible = visibility_at(found.interval, found.viewing_distance_mm)
    if visible is Visibility.NOT_VISIBLE:
        return f"By detail and grain, {pair} look the same at {at}: {_nearer(found.interval[1])}."
    if visible is Visibility.VISIBLE:
        surest = max(by, key=lambda b: b.interval[0])
        return (
            f"At {at} {pair} look different by {phrase(surest.criterion)}, by "
            f"{steps_text(surest)}. It is visible {reach_text(surest.distance_mm, surest.interval)}"
            "."
        )
    widest = max(by, key=lambda b: (b.distance_mm, b.interval[1]))
    return (
        f"By detail and grain, these prints do not settle whether {pair} look different at {at}. "
        f"{sentence(phrase(widest.criterion))} differs by {steps_text(widest)}; that would be "
        f"visible {reach_text(widest.distance_mm, widest.interval)}."
    )


def picture_sentence(picture: PictureVisibility, viewing_distance_mm: float) -> str:
    """Say whether the prints laid on each other differ beyond grain."""
    if not picture.repeats_known:
        return (
            "Tone, colour and sharpness of the whole patch were not compared: that takes three "
            "prints of each setting."
        )
    at = _cm(viewing_distance_mm)
    reach = reach_text(picture.distance_mm, picture.interval)
    found = visibility_at(picture.interval, viewing_distance_mm)
    if found is Visibility.NOT_VISIBLE and picture.interval[1] < NEAR_POINT_MM:
        return "Over the whole patch, tone, colour and sharpness look the same without a magnifier."
    if found is Visibility.NOT_VISIBLE:
        return (
            f"Over the whole patch, tone, colour and sharpness look the same at {at}; a difference "
            f"is visible from {far(picture.interval[1])} at most."
        )
    if found is Visibility.VISIBLE:
        return (
            f"Over the whole patch, tone, colour or sharpness visibly differ at {at}, and {reach}."
        )
    return (
        f"These prints do not settle whether tone, colour or sharpness visibly differ at {at}; the "
        f"difference measured would be visible {reach}."
    )


def reach_text(distance_mm: float, interval: Interval) -> str:
    """Return how far a difference is seen, with both ends of its interval."""
    low, high = interval
    if distance_mm == 0:
        return f"at no distance (95 % interval: up to {far(high)})"
    nearest = "not at all" if low == 0 else far(low)
    return f"up to {far(distance_mm)} (95 % interval: {nearest} to {far(high)})"


def steps_text(by: CriterionVisibility) -> str:
    """Return the steps with their interval, a tenth of a step being the finest that is meant."""
    low, high = by.steps_interval
    return f"{by.steps:.1f} visible steps (95 % interval {low:.1f} to {high:.1f})"


def far(distance_mm: float) -> str:
    """Return a distance as a person would say it."""
    if distance_mm >= FARTHEST_MM:
        return f"{FARTHEST_MM / 1000:.0f} m and more"
    if distance_mm >= 10_000:
        return f"{distance_mm / 1000:.0f} m"
    if distance_mm >= 1000:
        return f"{distance_mm / 1000:.1f} m"
    return f"{distance_mm / 10:.0f} cm"


def _cm(distance_mm: float) -> str:
    return f"{distance_mm / 10:g} cm"


def _nearer(high: float) -> str:
    if high < NEAR_POINT_MM:
        return "distinguishing them takes a magnifier"
    return f"a keen eye sees a difference from {far(high)} at most"
