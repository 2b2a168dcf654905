"""Whether an eye can tell two settings apart, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.visible import FARTHEST_MM
from dotloupe.measurement import CRITERIA

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import Interval
    from dotloupe.compare.seen import SeenBy
    from dotloupe.compare.seen_picture import PictureSeen

NEAR_POINT_MM = 250.0
"""Distance of clear seeing that magnifiers are rated for."""


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
    at = f"From {viewing_distance_mm / 10:g} cm"
    low, high = interval
    if high < viewing_distance_mm:
        nearer = (
            "they cannot be told apart without a magnifier"
            if high < NEAR_POINT_MM
            else f"a keen eye could tell them apart from {far(high)} at most"
        )
        return f"{at} {pair} look the same: {nearer}."
    first = by[0]
    if first.distance_mm >= viewing_distance_mm:
        can = "can" if low >= viewing_distance_mm else "can probably"
        return (
            f"{at} a keen eye {can} tell {pair} apart by the {_what(first)} "
            f"({steps_text(first)}), and up to {far(first.distance_mm)} {_between(low, high)}."
        )
    widest = max(by, key=lambda b: b.interval[1])
    return (
        f"{at} a keen eye can probably not tell {pair} apart: the {_what(widest)} differs by "
        f"{steps_text(widest)}, so that it might, up to {far(high)}."
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
    low, high = picture.interval
    if high < NEAR_POINT_MM:
        return f"{laid} show no other difference in tone, colour or sharpness without a magnifier."
    if high < viewing_distance_mm:
        return (
            f"{laid} look the same in tone, colour and sharpness, and differ from closer than "
            f"{far(high)} at most."
        )
    reach = f"up to {far(picture.distance_mm)} {_between(low, high)}"
    if picture.distance_mm == 0:
        reach = f"up to {far(high)} at most"
    may = "can" if low >= viewing_distance_mm else "may"
    return (
        f"{laid} differ in tone, colour or sharpness as a keen eye {may} see {reach}, beyond what "
        "prints of one setting do."
    )


def steps_text(by: SeenBy) -> str:
    """Return the steps with their interval, a tenth of a step being the finest that is meant."""
    low, high = by.steps_interval
    return f"{by.steps:.1f} visible steps, {low:.1f} to {high:.1f}"


def far(distance_mm: float) -> str:
    """Return a distance as a person would say it."""
    if distance_mm >= FARTHEST_MM:
        return f"{FARTHEST_MM / 1000:.0f} m and more"
    if distance_mm >= 1000:
        return f"{distance_mm / 1000:.1f} m"
    return f"{distance_mm / 10:.0f} cm"


def _what(by: SeenBy) -> str:
    return CRITERIA[by.criterion].title.split(" (")[0].lower()


def _between(low: float, high: float) -> str:
    return f"(at most {far(high)})" if low == 0 else f"({far(low)} to {far(high)})"
