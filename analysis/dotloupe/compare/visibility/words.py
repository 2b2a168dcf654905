"""Whether an eye can tell two settings apart, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

from dotloupe.compare.visibility.visible_steps import FARTHEST_MM
from dotloupe.measurement import CRITERIA

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import Interval
    from dotloupe.compare.visibility.picture_difference import PictureSeen
    from dotloupe.compare.visibility.setting_pair import Seen, SeenBy

NEAR_POINT_MM = 250.0
"""Distance of clear seeing that magnifiers are rated for."""

Sight: TypeAlias = Literal["seen", "unseen", "open"]


def sight(interval: Interval, viewing_distance_mm: float) -> Sight:
    """Whether a difference is seen from a distance, by both ends of how far it reaches.

    "open" where the viewing distance lies between them: these prints do not settle it.
    """
    low, high = interval
    if low >= viewing_distance_mm:
        return "seen"
    return "unseen" if high < viewing_distance_mm else "open"


def seen_sentence(
    names: tuple[str, str], by: Sequence[SeenBy], interval: Interval, viewing_distance_mm: float
) -> str:
    """Say from how far the two can be told apart, first of all from the viewing distance.

    Parameters
    ----------
    names : pair of str
        As they are to stand in the sentence.
    by : sequence of SeenBy
        The one seen from farthest first.
    interval : tuple of float
        Least and largest distance over all criteria.
    viewing_distance_mm : float
    """
    pair = " and ".join(names)
    at = f"rom {viewing_distance_mm / 10:g} cm"
    found = sight(interval, viewing_distance_mm)
    if found == "unseen":
        return f"F{at} {pair} look the same: {_nearer(interval[1])}."
    if found == "seen":
        surest = max(by, key=lambda b: b.interval[0])
        return (
            f"F{at} a keen eye can tell {pair} apart by the {_what(surest)}, which differs by "
            f"{steps_text(surest)}, and {reach_text(by[0].distance_mm, interval)}."
        )
    widest = max(by, key=lambda b: (b.distance_mm, b.interval[1]))
    return (
        f"Whether a keen eye can tell {pair} apart f{at} is not settled by these prints: the "
        f"{_what(widest)} differs by {steps_text(widest)}, which would be seen "
        f"{reach_text(by[0].distance_mm, interval)}."
    )


def picture_sentence(picture: PictureSeen | None, viewing_distance_mm: float) -> str:
    """Say whether the prints laid on each other differ beyond grain; empty without pictures."""
    if picture is None:
        return ""
    laid = "Laid on each other, their prints"
    if not picture.repeats_known:
        return (
            f"{laid} were not compared: it takes two prints of a setting to know what repeats "
            "differ by."
        )
    at = f"from {viewing_distance_mm / 10:g} cm"
    reach = reach_text(picture.distance_mm, picture.interval)
    found = sight(picture.interval, viewing_distance_mm)
    if found == "unseen" and picture.interval[1] < NEAR_POINT_MM:
        return f"{laid} show no other difference in tone, colour or sharpness without a magnifier."
    if found == "unseen":
        return (
            f"{laid} look the same {at} in tone, colour and sharpness, and differ from closer than "
            f"{far(picture.interval[1])} at most."
        )
    if found == "seen":
        return (
            f"{laid} differ in tone, colour or sharpness as a keen eye can see {at}, and "
            f"{reach}, beyond what prints of one setting do."
        )
    return (
        "Whether their prints laid on each other differ in tone, colour or sharpness as a keen eye "
        f"sees {at} is not settled: beyond what prints of one setting differ by, what was measured "
        f"would be seen {reach}."
    )


def closing_words(pair: Seen) -> str:
    """Say in a clause whether the eye tells two settings apart, by detail, grain or picture."""
    intervals = [pair.interval]
    if pair.picture is not None and pair.picture.repeats_known:
        intervals.append(pair.picture.interval)
    at = f"from {pair.viewing_distance_mm / 10:g} cm"
    found = {sight(interval, pair.viewing_distance_mm) for interval in intervals}
    if "seen" in found:
        surely = max(near for near, _ in intervals)
        return f"a keen eye sees a difference {at}, and up to {far(surely)} at least"
    if "open" in found:
        return f"whether a keen eye sees a difference {at} is not settled by these prints"
    return f"{at} even a keen eye sees no difference"


def reach_text(distance_mm: float, interval: Interval) -> str:
    """Return how far a difference is seen, with both ends of its interval."""
    low, high = interval
    if distance_mm == 0:
        return f"from nowhere (95 % interval: up to {far(high)})"
    nearest = "not at all" if low == 0 else far(low)
    return f"up to {far(distance_mm)} (95 % interval: {nearest} to {far(high)})"


def steps_text(by: SeenBy) -> str:
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


def _what(by: SeenBy) -> str:
    return CRITERIA[by.criterion].title.split(" (")[0].lower()


def _nearer(high: float) -> str:
    if high < NEAR_POINT_MM:
        return "they cannot be told apart without a magnifier"
    return f"a keen eye could tell them apart from {far(high)} at most"
