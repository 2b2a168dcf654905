"""What a reader of a capture's numbers must know, as far as its evaluation noticed it."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.cautions import Caution


@dataclass(frozen=True)
class NothingMeasured(Caution):
    """No element of the patch could be measured."""


@dataclass(frozen=True)
class MarkedByHand(Caution):
    """Numbers come from regions that a person marked on an own picture."""


@dataclass(frozen=True)
class RegionNotMeasured(Caution):
    """A marked region has no number; `why` is the error's message."""

    region: str
    why: str


@dataclass(frozen=True)
class PlaceWasOff(Caution):
    """The place found in the picture was off by more than does no harm; it was taken out."""

    picture_px: float
    harmless_px: float


@dataclass(frozen=True)
class FedTurned(Caution):
    """The patch was fed turned by 90 degrees; x and y follow the printer."""


@dataclass(frozen=True)
class PrintedSizeUnknown(Caution):
    """Detail is in cycles per picture pixel."""
