"""What a photograph's file itself warns of."""

from dataclasses import dataclass

from dotloupe.cautions import Caution


@dataclass(frozen=True)
class Simulated(Caution):
    """The file was written by `dotloupe.simulate`."""


@dataclass(frozen=True)
class NoProfile(Caution):
    """The file has no colour profile, and was read as sRGB."""


@dataclass(frozen=True)
class UnusableProfile(Caution):
    """The file's colour profile cannot be used, and the file was read as sRGB."""


@dataclass(frozen=True)
class CompressedWithLoss(Caution):
    """The file is of a kind that gives up detail for size, and does not say how much.

    Attributes
    ----------
    kind : str
        HEIC, AVIF or WebP.
    """

    kind: str


@dataclass(frozen=True)
class CameraToneCurve(Caution):
    """A camera's own JPEG, whose profile is silent on the contrast curve that the camera put in."""


@dataclass(frozen=True)
class ToneByExposures(Caution):
    """The camera's tone curve was found from two exposures, and taken out.

    Attributes
    ----------
    pair_name : str
        File of the brighter exposure.
    misfit : float
        Relative rms of what the curve leaves of the exposures' ratio.
    """

    pair_name: str
    misfit: float


@dataclass(frozen=True)
class BilinearColours(Caution):
    """The sensor's mosaic is not of two by two; the raw library interpolated it bilinearly."""
