"""From when on a misplaced ink matters: where an eye makes it out."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from dotloupe.arrays import Interval

OUT_OF_LINE_ARCSEC = 10.0
"""Step in a line that a keen eye just makes out (vernier acuity).

From 35 cm it is 17 um, amid the 12 to 25 um of Bernal, Allebach and Pizlo 2007.
"""

Alignment: TypeAlias = Literal["out", "in", "open"]


def just_seen_um(viewing_distance_mm: float) -> float:
    """Offset of two borders that an eye just makes out from a distance."""
    return 1000 * viewing_distance_mm * OUT_OF_LINE_ARCSEC / 3600 * pi / 180


def alignment(interval_um: Interval, viewing_distance_mm: float) -> Alignment:
    """Whether an offset is out of line to the eye, in line, or not measured well enough to say.

    Parameters
    ----------
    interval_um : (float, float)
        95 % interval of the offset, signed.
    viewing_distance_mm : float
    """
    low, high = interval_um
    limit = just_seen_um(viewing_distance_mm)
    if low > limit or high < -limit:
        return "out"
    return "in" if low >= -limit and high <= limit else "open"
