"""What a reader of the dots' numbers must know."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.cautions import Caution


@dataclass(frozen=True)
class DotsTooSmall(Caution):
    """Too few pixels a dot to separate dots from each other."""

    pixels_per_dot: float


@dataclass(frozen=True)
class DotSizeBlurred(Caution):
    """The size of the dots is mostly blur."""

    pixels_per_dot: float


@dataclass(frozen=True)
class DotsTouch(Caution):
    """A `share` of the dots touch others."""

    share: float
