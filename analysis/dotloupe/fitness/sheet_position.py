"""Position of the sheet before the camera, by its geometry alone: sampling, scale, tilt, curl."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.mark_places import MarkPlaces
from dotloupe.patch import Axis
from dotloupe.registration import View, jacobian
from dotloupe.units import MM_PER_INCH

USUAL_DISTANCE_MM = 250.0
"""From the lens to the print, assumed for heights in mm where EXIF is silent."""
PIXELS_PER_PAIR = 4.0
"""A line pair on fewer pixels is taken apart by the pixel, its colour mosaic and the lens."""
HIGHEST_LP_PER_MM = 12.0
"""Prints hold little above."""
CURL_LEFT = 0.4
"""Share of a cubic displacement at the end of a range that a straight line through it leaves."""

SAMPLING = FaultLimits(
    Symptom.FINEST_LINE_PAIR,
    HIGHEST_LP_PER_MM,
    5.0,
    "lp/mm",
    "a line pair needs four pixels; prints resolve up to 12 lp/mm, or half the ppi sent, and "
    "lose half their contrast about 5",
)
STRETCH = FaultLimits(
    Symptom.UNEQUAL_SCALES,
    1.0,
    5.0,
    "% between x and y",
    "every frequency is off by as much, and 1 % is what an MTF50 is measured to; a tilted sheet "
    "foreshortens by 1 % only at 8 degrees",
)
SCALE = FaultLimits(
    Symptom.WRONG_SIZE,
    1.0,
    5.0,
    "% of the size",
    "every frequency is off by as much, and 1 % is what is measured to",
)


@dataclass(frozen=True)
class Stretched(Evidence):
    """Along which axis of the patch it is too long."""

    longer: Axis


@dataclass(frozen=True)
class WrongSize(Evidence):
    """Whether the patch was printed too large, or too small."""

    too_large: bool


@dataclass(frozen=True)
class SheetPosition:
    """Heights of the sheet over its middle, towards the lens.

    Attributes
    ----------
    slope : ndarray of shape (2,)
        Rise per mm along the patch's x and y.
    curl_mm : float
        Rise of the corners against the middle beyond the slope; its sign is that of a sheet
        whose corners come nearer.
    distance_mm : float
        From the lens, by which heights go and no direction does.
    """

    slope: FloatArray
    curl_mm: float
    distance_mm: float = USUAL_DISTANCE_MM

    def tilt_mm(self, size_mm: tuple[float, float]) -> float:
        """Difference in height between the ends of the patch that the slope makes."""
        return float(np.abs(self.slope) @ np.array(size_mm))


def find_sheet_position(view: View, marks: MarkPlaces) -> SheetPosition:
    """Tilt from the perspective of the homography, curl from where it leaves the four marks.

    Parameters
    ----------
    view : View
    marks : MarkPlaces
        Of the same capture.
    """
    to_capture = np.linalg.inv(view.registration.homography)
    middle = np.array(view.patch.size_mm) / 2
    depth = to_capture[2, :2] @ middle + to_capture[2, 2]
    distance_mm = view.capture.settings.distance_mm or USUAL_DISTANCE_MM
    slope = -distance_mm * to_capture[2, :2] / depth
    place = marks.centres_mm - middle
    reach = np.linalg.norm(place, axis=1)
    away_um = np.sum(marks.outward_um * np.abs(place), axis=1) / reach
    seen = np.isfinite(away_um)
    if not seen.any() or not view.whole:
        return SheetPosition(slope, 0.0, distance_mm)
    away_um = np.mean(away_um[seen])
    height = away_um / 1000 * distance_mm / (CURL_LEFT * reach.mean())
    return SheetPosition(slope, float(height), distance_mm)


def geometry_findings(view: View) -> tuple[Finding, ...]:
    """Findings on sampling and scale."""
    registration = view.registration
    asked = HIGHEST_LP_PER_MM
    if view.printed_ppi is not None:
        asked = min(asked, view.printed_ppi / MM_PER_INCH / 2)
    reach = registration.pixels_per_mm / PIXELS_PER_PAIR
    limits = replace(SAMPLING, warning=asked, not_fit=min(asked / 2, SAMPLING.not_fit))
    found = [Finding(Fault.SAMPLING, reach, limits), _stretch(view)]
    known = view.capture.settings.pixels_per_mm
    if known is not None and known > registration.pixels_per_mm / 2:
        wrong = 100 * (registration.pixels_per_mm / known - 1)
        found.append(Finding(Fault.SCALE, abs(wrong), SCALE, WrongSize(too_large=wrong > 0)))
    return tuple(found)


def _stretch(view: View) -> Finding:
    local = jacobian(np.linalg.inv(view.registration.homography), view.middle_mm)
    along_x, along_y = np.linalg.norm(local, axis=0).tolist()
    stretch = 100 * abs(along_x / along_y - 1)
    longer: Axis = "x" if along_x > along_y else "y"
    return Finding(Fault.STRETCH, stretch, STRETCH, Stretched(longer))
