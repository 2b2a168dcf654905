"""Whether an eye can tell two settings apart, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.visibility import FARTHEST_MM, Visibility, visibility_at
from dotloupe.report.text.phrases import listed, named, phrase
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
    "a model of a keen eye in good light with both prints side by side, after Barten's contrast "
    "sensitivity; it is not a jury of people"
)


def ranking_visibility(ranking: Ranking) -> tuple[str, ...]:
    """Say whether the first and the last setting differ to the eye at the viewing distance."""
    pairs = ranking.visibility
    if not pairs:
        return ()
    first, scope = pairs[0], ranking.scope
    names = (subject(named(first.setting), scope), subject(named(first.other), scope))
    said = [pair_sentence(first, names)]
    if first.picture is not None:
        said.append(picture_sentence(first.picture, first.viewing_distance_mm))
    alike = [
        subject(named(p.other), scope)
        for p in pairs[1:]
        if visibility_at(p.interval, p.viewing_distance_mm) is Visibility.NOT_VISIBLE
    ]
    if alike:
        said.append(f"From there {names[0]} looks the same as {listed(alike, 'or')}.")
    return (*said, f"This rests on {MODEL_LIMITS}.")


def pair_sentence(found: PairVisibility, names: tuple[str, str]) -> str:
    """Say from how far two settings can be told apart, first of all from the viewing distance.

    Parameters
    ----------
    found : PairVisibility
    names : pair of str
        The two settings as they are to stand in the sentence.
    """
    pair, by, interval = " and ".join(names), found.by, found.interval
    at = f"rom {found.viewing_distance_mm / 10:g} cm"
    visible = visibility_at(interval, found.viewing_distance_mm)
    if visible is Visibility.NOT_VISIBLE:
        return f"F{at} {pair} look the same: {_nearer(interval[1])}."
    if visible is Visibility.VISIBLE:
        surest = max(by, key=lambda b: b.interval[0])
        return (
            f"F{at} a keen eye can tell {pair} apart by the {_what(surest)}, which differs by "
            f"{steps_text(surest)}, and {reach_text(found.distance_mm, interval)}."
        )
    widest = max(by, key=lambda b: (b.distance_mm, b.interval[1]))
    return (
        f"Whether a keen eye can tell {pair} apart f{at} is not settled by these prints: the "
        f"{_what(widest)} differs by {steps_text(widest)}, which would be seen "
        f"{reach_text(found.distance_mm, interval)}."
    )


def picture_sentence(picture: PictureVisibility, viewing_distance_mm: float) -> str:
    """Say whether the prints laid on each other differ beyond grain."""
    laid = "Laid on each other, their prints"
    if not picture.repeats_known:
        return (
            f"{laid} were not compared: it takes two prints of a setting to know what repeats "
            "differ by."
        )
    at = f"from {viewing_distance_mm / 10:g} cm"
    reach = reach_text(picture.distance_mm, picture.interval)
    found = visibility_at(picture.interval, viewing_distance_mm)
    if found is Visibility.NOT_VISIBLE and picture.interval[1] < NEAR_POINT_MM:
        return f"{laid} show no other difference in tone, colour or sharpness without a magnifier."
    if found is Visibility.NOT_VISIBLE:
        return (
            f"{laid} look the same {at} in tone, colour and sharpness, and differ from closer than "
            f"{far(picture.interval[1])} at most."
        )
    if found is Visibility.VISIBLE:
        return (
            f"{laid} differ in tone, colour or sharpness as a keen eye can see {at}, and "
            f"{reach}, beyond what prints of one setting do."
        )
    return (
        "Whether their prints laid on each other differ in tone, colour or sharpness as a keen eye "
        f"sees {at} is not settled: beyond what prints of one setting differ by, what was measured "
        f"would be seen {reach}."
    )


def reach_text(distance_mm: float, interval: Interval) -> str:
    """Return how far a difference is seen, with both ends of its interval."""
    low, high = interval
    if distance_mm == 0:
        return f"from nowhere (95 % interval: up to {far(high)})"
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


def _what(by: CriterionVisibility) -> str:
    return phrase(by.criterion)


def _nearer(high: float) -> str:
    if high < NEAR_POINT_MM:
        return "they cannot be told apart without a magnifier"
    return f"a keen eye could tell them apart from {far(high)} at most"
