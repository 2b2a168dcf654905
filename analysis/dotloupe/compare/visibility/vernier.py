"""From when on a misplaced ink is visible: vernier acuity."""

from __future__ import annotations

from enum import StrEnum
from math import pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.arrays import Interval

OUT_OF_LINE_ARCSEC = 10.0
"""Step in a line that a keen eye just makes out (vernier acuity).

From 35 cm it is 17 um, amid the 12 to 25 um of Bernal, Allebach and Pizlo 2007.
"""


class Alignment(StrEnum):
    """Whether an offset is visible as a step."""

    ALIGNED = "aligned"
    MISALIGNED = "misaligned"
    UNDECIDED = "undecided"


def just_visible_um(viewing_distance_mm: float) -> float:
    """Offset of two borders that an eye just makes out from a distance."""
    return 1000 * viewing_distance_mm * OUT_OF_LINE_ARCSEC / 3600 * pi / 180


def alignment(interval_um: Interval, viewing_distance_mm: float) -> Alignment:
    """Whether an offset is out of line to the eye, by both ends of its interval.

    Parameters
    ----------
    interval_um : (float, float)
        95 % interval of the offset, signed.
    viewing_distance_mm : float
        Distance of the eye.

    Returns
    -------
    Alignment
    """
    low, high = interval_um
    limit = just_visible_um(viewing_distance_mm)
    if low > limit or high < -limit:
        return Alignment.MISALIGNED
    within = low >= -limit and high <= limit
    return Alignment.ALIGNED if within else Alignment.UNDECIDED
