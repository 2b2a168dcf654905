"""What the camera could have shown at best: the ceiling over a ladder of detail."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from dotloupe.measurement import Measurement, PatchMeasurement
from dotloupe.number import CRITERIA, Quantity
from dotloupe.registration import averaging_step

if TYPE_CHECKING:
    from collections.abc import Iterable


LIMITED = ("detail_x", "detail_y", "line_pairs_x", "line_pairs_y")

NEAR_UNKNOWN = 0.7
"""Share of the ceiling from which the camera ends a ladder, where its response is in the numbers.

Derived: blurs add in squares, so that half of the blur seen is the camera's where the detail seen
is the root of a half of what the camera would show of a perfect print.
"""

NEAR_KNOWN = 0.9
"""The same share where the camera's response was taken out."""


@dataclass(frozen=True)
class CameraCeiling:
    """What no number of the ladder could exceed with this camera.

    Attributes
    ----------
    frequency : float
        In cycles/mm (for bars lp/mm) on the print.
    limit : str
        "sampling": the Nyquist frequency of the photographs, which no lens exceeds and most miss;
        "response": where the camera's measured response passes too little to be taken out.
    response_taken_out : bool
        The camera's response is known and no longer in the numbers.
    """

    frequency: float
    limit: Literal["sampling", "response"]
    response_taken_out: bool

    @property
    def near(self) -> float:
        """Detail from which on the camera, not the printer, ends a ladder."""
        return self.frequency * (NEAR_KNOWN if self.response_taken_out else NEAR_UNKNOWN)


def camera_ceiling(criterion: str, shots: Iterable[Measurement]) -> CameraCeiling | None:
    """Lowest ceiling among the photographs; None for what no camera bounds or none is known."""
    if criterion not in LIMITED:
        return None
    found = [c for m in shots if (c := _ceiling(criterion, m)) is not None]
    return min(found, key=lambda c: c.near, default=None)


def _ceiling(criterion: str, m: Measurement) -> CameraCeiling | None:
    if m.registration is None:
        return None
    per_mm = m.registration.pixels_per_mm / averaging_step(m.registration.pixels_per_mm)
    camera = m.camera_curve if isinstance(m, PatchMeasurement) else None
    # bars are counted in the photograph as it is
    if camera is None or CRITERIA[criterion].measurand.quantity is Quantity.LINE_PAIRS:
        return CameraCeiling(per_mm / 2, "sampling", response_taken_out=False)
    if camera.reach < per_mm / 2:
        return CameraCeiling(camera.reach, "response", response_taken_out=True)
    return CameraCeiling(per_mm / 2, "sampling", response_taken_out=True)
