"""Fitness of a photograph of one's own picture by where it lies in it: no patch to go by."""

from __future__ import annotations

import numpy as np

from dotloupe.fitness.finding import Finding, Limits, judge
from dotloupe.fitness.sheet_position import HIGHEST_LP_PER_MM, PIXELS_PER_PAIR
from dotloupe.registration import Registration
from dotloupe.units import MM_PER_INCH

PLACE = Limits(0.0, 0.0, "not found", "without a place in the picture nothing can be compared")
CONTENT = Limits(0.0, 0.0, "not comparable", "without detail in common there is nothing to measure")
PAIRS_PER_PICTURE_PX = 0.5
"""Line pairs that a picture holds at most."""
NO_LIMIT = 0.0
"""Coarse photographs are measured as far as they reach, which the numbers say."""
SAMPLING_REASON = (
    "a line pair needs four pixels; what the picture holds beyond is not judged, so that settings "
    "may look alike that are not"
)
RESIDUAL = Limits(
    0.5,
    float("inf"),
    "of the coarser pixels",
    "noise of single windows leaves less on simulated prints; a bent sheet or a lens that distorts "
    "leaves more, and half a picture pixel is a quarter of the finest detail's period",
)


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


def place_said(registration: Registration) -> str:
    """Say where a photograph was found, at which scale, and how fine it can tell detail."""
    scale = f"{registration.pixels_per_picture_px:.2f} camera pixels a picture pixel"
    fine = registration.pixels_per_mm / PIXELS_PER_PAIR
    if np.isfinite(fine):
        reach = f"{registration.pixels_per_mm:.1f} a mm, which tell up to {fine:.1f} lp/mm"
    else:
        pairs = registration.pixels_per_picture_px / PIXELS_PER_PAIR
        reach = f"which tell up to {pairs:.2f} line pairs a picture pixel"
    residual = registration.residual_px / registration.pixels_per_picture_px
    return f"found in the picture: {scale}, {reach}; follows it to {residual:.2f} picture pixels"


def _sampling(registration: Registration, picture_ppi: float | None) -> Finding:
    scale, asked, unit = registration.pixels_per_picture_px, PAIRS_PER_PICTURE_PX, "line pairs/px"
    if picture_ppi is not None:
        scale, unit = registration.pixels_per_mm, "lp/mm"
        asked = min(HIGHEST_LP_PER_MM, PAIRS_PER_PICTURE_PX * picture_ppi / MM_PER_INCH)
    reach = scale / PIXELS_PER_PAIR
    message = (
        f"{registration.pixels_per_picture_px:.2f} camera pixels a picture pixel tell no more than "
        f"{reach:.2g} {unit}, and the print may hold {asked:.2g}; photograph closer"
    )
    return judge("sampling", reach, Limits(asked, NO_LIMIT, unit, SAMPLING_REASON), message)


def _residual(registration: Registration) -> Finding:
    coarser = max(registration.pixels_per_picture_px, 1.0)
    residual = registration.residual_px / coarser
    message = (
        f"parts of it lie {residual:.2f} pixels off where the rest puts them; lay the sheet flat, "
        "and the sensor parallel to it"
    )
    return judge("residual", residual, RESIDUAL, message)
