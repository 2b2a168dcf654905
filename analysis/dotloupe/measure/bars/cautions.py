"""What a reader of a bar group's numbers must know."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.cautions import Caution


@dataclass(frozen=True)
class ContrastTooLow(Caution):
    """The contrast is not over the threshold that counts as resolved."""

    contrast: float
    threshold: float


@dataclass(frozen=True)
class BarsMiscounted(Caution):
    """Another number of bars stands out than was drawn."""

    found: int
    drawn: int


@dataclass(frozen=True)
class BarsInSpaces(Caution):
    """Bars lie where spaces were drawn."""


@dataclass(frozen=True)
class BarsOutOfPhase(Caution):
    """The bars lie `phase_deg` from where they were drawn, 360 degrees a period."""

    phase_deg: float


@dataclass(frozen=True)
class BarsLostInGrain(Caution):
    """The bars do not stand clear of the grain."""


@dataclass(frozen=True)
class PeriodDiffers(Caution):
    """The period found is not the one asked for."""


@dataclass(frozen=True)
class FewPixelsPerLinePair(Caution):
    """A line pair has few pixels."""

    pixels: float
