"""Fitness of a photograph of one's own picture by where it lies in it: no patch to go by."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.sheet_position import HIGHEST_LP_PER_MM, PIXELS_PER_PAIR
from dotloupe.registration import Registration
from dotloupe.units import MM_PER_INCH

PLACE = FaultLimits(
    Symptom.NOT_PLACED,
    0.0,
    0.0,
    "not found",
    "without a place in the picture nothing can be compared",
)
CONTENT = FaultLimits(
    Symptom.NOT_COMPARABLE,
    0.0,
    0.0,
    "not comparable",
    "without detail in common there is nothing to measure",
)
PAIRS_PER_PICTURE_PX = 0.5
"""Line pairs that a picture holds at most."""
NO_LIMIT = 0.0
"""Coarse photographs are measured as far as they reach, which the numbers say."""
SAMPLING_REASON = (
    "a line pair needs four pixels; what the picture holds beyond is not judged, so that settings "
    "may look alike that are not"
)
RESIDUAL = FaultLimits(
    Symptom.OUT_OF_PLACE,
    0.5,
    float("inf"),
    "of the coarser pixels",
    "half a picture pixel is a quarter of the finest detail's period: windows off by as much share "
    "nothing of it; a bent sheet or a lens that distorts leaves more",
)


@dataclass(frozen=True)
class PictureSampling(Evidence):
    """Camera pixels per picture pixel."""

    pixels_per_picture_px: float


def place_findings(registration: Registration, picture_ppi: float | None) -> tuple[Finding, ...]:
    """Findings on sampling, and on how well the photograph follows the picture.

    Parameters
    ----------
    registration : Registration
        Of the capture on its picture.
    picture_ppi : float or None
        Pixels of the picture per inch of its print.
    """
    return _sampling(registration, picture_ppi), _residual(registration)


def _sampling(registration: Registration, picture_ppi: float | None) -> Finding:
    scale, asked, unit = registration.pixels_per_picture_px, PAIRS_PER_PICTURE_PX, "line pairs/px"
    if picture_ppi is not None:
        scale, unit = registration.pixels_per_mm, "lp/mm"
        asked = min(HIGHEST_LP_PER_MM, PAIRS_PER_PICTURE_PX * picture_ppi / MM_PER_INCH)
    reach = scale / PIXELS_PER_PAIR
    evidence = PictureSampling(registration.pixels_per_picture_px)
    limits = FaultLimits(Symptom.FINEST_PICTURE_DETAIL, asked, NO_LIMIT, unit, SAMPLING_REASON)
    return Finding(Fault.SAMPLING, reach, limits, evidence)


def _residual(registration: Registration) -> Finding:
    coarser = max(registration.pixels_per_picture_px, 1.0)
    residual = registration.residual_px / coarser
    return Finding(Fault.RESIDUAL, residual, RESIDUAL)
