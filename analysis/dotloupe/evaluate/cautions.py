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
class ApertureUnknown(Caution):
    """Aperture or pixel pitch is not in the files: the change of diffraction is not corrected."""


@dataclass(frozen=True)
class FocusDoubtful(Caution):
    """A photograph that the camera's response was found from may be soft."""

    path: str


@dataclass(frozen=True)
class CameraBeatsIdeal(Caution):
    """The camera found passes more than pixel and diffraction do."""


@dataclass(frozen=True)
class OtherCamera(Caution):
    """Camera, lens or aperture are not those of the two distances: the camera stays in."""


@dataclass(frozen=True)
class ScalesNotUsed(Caution):
    """Two distances of one print do not tell of the camera; `why` is the error's message."""

    why: str


@dataclass(frozen=True)
class PrintedSizeUnknown(Caution):
    """Detail is in cycles per picture pixel."""
