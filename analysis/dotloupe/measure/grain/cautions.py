"""What a reader of a tint's grain must know."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.cautions import Caution


@dataclass(frozen=True)
class RegionBelowStandard(Caution):
    """The region is smaller than the hardcopy standards ask for, mm."""

    width_mm: float
    height_mm: float
    standard_mm: float


@dataclass(frozen=True)
class FixedPatternMayRemain(Caution):
    """The sensor's fixed pattern left only if the print moved between the shots."""


@dataclass(frozen=True)
class ShotTurned(Caution):
    """The second shot was turned or scaled by `pixels` at its corners, and laid on the first."""

    pixels: float


@dataclass(frozen=True)
class PaperIncluded(Caution):
    """The texture of the paper is part of the grain."""


@dataclass(frozen=True)
class CameraBlurIncluded(Caution):
    """The camera's blur is not taken out."""


@dataclass(frozen=True)
class MostlyPaper(Caution):
    """A `share` of the visible noise power is the paper's or the camera's."""

    share: float


@dataclass(frozen=True)
class CameraNoiseIncluded(Caution):
    """Camera noise is in it: if white, at most a `share` of the visible noise power."""

    share: float


@dataclass(frozen=True)
class PaperFromOneShot(Caution):
    """The texture of the paper is known from one shot, less camera noise taken as white."""


@dataclass(frozen=True)
class CameraNoiseEstimated(Caution):
    """Camera noise is estimated from paper white in one shot and taken as white."""
