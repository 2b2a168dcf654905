"""A finding on a capture as data: the fault, the number that shows it, and its limits."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from dotloupe.cautions import Caution


class Severity(StrEnum):
    """What a finding means for the numbers of a capture."""

    FINE = "fine"
    CANNOT_TELL = "cannot tell"
    WARNING = "warning"
    NOT_FIT = "not fit"


class Fault(StrEnum):
    """Properties of a capture that are looked at, by their names in JSON."""

    SAMPLING = "sampling"
    STRETCH = "stretch"
    SCALE = "scale"
    EXPOSURE = "exposure"
    CLIPPED_LIGHT = "clipped light"
    CLIPPED_DARK = "clipped dark"
    COMPRESSION = "compression"
    UNEVEN_LIGHT = "uneven light"
    DEFOCUS = "defocus"
    UNEVEN_FOCUS = "uneven focus"
    TILT = "tilt"
    CURL = "curl"
    MOTION_BLUR = "motion blur"
    SHARPENING = "sharpening"
    MARKS_MISSING = "marks missing"
    MIRROR_IMAGE = "mirror image"
    PLACE_IN_PICTURE = "place in the picture"
    CONTENT = "content"
    RESIDUAL = "residual"


class Symptom(StrEnum):
    """Numbers by which faults show; a fault may show by more than one."""

    FINEST_LINE_PAIR = "finest line pair"
    FINEST_PICTURE_DETAIL = "finest detail of the picture"
    UNEQUAL_SCALES = "unequal scales"
    WRONG_SIZE = "wrong size"
    UNDEREXPOSURE = "underexposure"
    PAPER_AT_FULL = "paper at full"
    BLACK_AT_ZERO = "black at zero"
    JPEG_STEP = "JPEG step"
    BLOCK_STEP = "step between blocks"
    LIGHT_FALL = "fall of the light"
    LIGHT_PATCHES = "patches of light"
    STEEPEST_EDGE = "steepest edge"
    POSSIBLE_LOSS = "possible loss"
    SOFTENING = "softening"
    SOFTER_THAN_OTHERS = "softer than others"
    TRAVEL = "travel"
    OVERSHOOT = "overshoot"
    POSSIBLE_GAIN = "possible gain"
    NOISE_RISE = "rise of the noise"
    NO_MARKS = "no marks"
    MIRRORED = "mirrored"
    NOT_PLACED = "not placed"
    NOT_COMPARABLE = "not comparable"
    OUT_OF_PLACE = "out of place"


@dataclass(frozen=True)
class FaultLimits:
    """From where a number does harm.

    Attributes
    ----------
    symptom : Symptom
        The number.
    warning, not_fit : float
        From the first on the numbers of a capture carry a warning, from the second on none may
        be published. `not_fit` below `warning` means that small numbers are the bad ones.
    unit : str
    reason : str
        Why there.
    """

    symptom: Symptom
    warning: float
    not_fit: float
    unit: str
    reason: str


@dataclass(frozen=True)
class Evidence:
    """What a finding shows beyond its number."""


@dataclass(frozen=True)
class Refused(Evidence):
    """Why something was not found or not compared, as the error that was raised has it."""

    why: str


@dataclass(frozen=True)
class Finding(Caution):
    """One property of a capture, held against its limits.

    Attributes
    ----------
    fault : Fault
        What was looked at.
    value : float
        The number found, in `unit`.
    limits : FaultLimits
    evidence : Evidence or None
    blamed : bool
        False where a printer may make such a number too: past its limits it cannot be told then.
    """

    fault: Fault
    value: float
    limits: FaultLimits
    evidence: Evidence | None = None
    blamed: bool = True

    @property
    def name(self) -> str:
        """Name of the fault."""
        return self.fault.value

    @property
    def severity(self) -> Severity:
        """By the limits that the value passes."""
        sign = -1.0 if self.limits.not_fit < self.limits.warning else 1.0
        if not sign * self.value > sign * self.limits.warning:
            return Severity.FINE
        if not self.blamed:
            return Severity.CANNOT_TELL
        unfit = sign * self.value > sign * self.limits.not_fit
        return Severity.NOT_FIT if unfit else Severity.WARNING

    @property
    def limit(self) -> float:
        """The limit that was passed; where the value is fine, the nearer one."""
        unfit = self.severity is Severity.NOT_FIT
        return self.limits.not_fit if unfit else self.limits.warning

    @property
    def unit(self) -> str:
        """Of value and limit."""
        return self.limits.unit
