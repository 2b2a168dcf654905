"""Fit a capture to what was drawn: a homography refined on the content of a part of the patch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture
from dotloupe.errors import NotFitError
from dotloupe.patch import Patch
from dotloupe.registration.homography import pixels_per_mm
from dotloupe.registration.reduced_images import reduced_green, reduction_matrix
from dotloupe.registration.refinement import agreement, refine_homography
from dotloupe.registration.sight import Box, box_in_frame, middle_of
from dotloupe.units import MM_PER_INCH

REFERENCE_PPI = 600
WORKING_PIXELS_PER_MM = 24.0
"""Resolution of the refinement: prints hold little above its Nyquist of 12 cycles/mm."""

LEAST_SIDE_PX = 48
"""Of the refinement's image: three windows side by side."""


@dataclass(frozen=True)
class Drawing:
    """Green reflectance of a patch as sent, shape (rows, columns), and its pixels per mm."""

    reflectance: FloatArray
    pixels_per_mm: float


@dataclass(frozen=True)
class DrawingFit:
    """A homography refined on a drawing.

    Attributes
    ----------
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    residual_px : float
        Rms of the local shifts left, in capture pixels.
    uncertainty_um : float
        Standard error of the mapping on the patch, rms over the windows.
    agreement : float
        Share of the windows where the drawing holds something that show it; NaN where it was not
        asked for.
    """

    homography: FloatArray
    residual_px: float
    uncertainty_um: float
    agreement: float = float("nan")


@lru_cache(maxsize=8)
def drawing_of(patch: Patch) -> Drawing:
    """Draw a patch as sent, its pixels repeated up to about 600 ppi."""
    ppi = min(patch.sent_ppi, REFERENCE_PPI)
    repeats = max(1, round(REFERENCE_PPI / ppi))
    green = patch.reflectance(ppi)[..., 1].astype(np.float32)
    drawn = green.repeat(repeats, axis=0).repeat(repeats, axis=1)
    drawn.flags.writeable = False
    return Drawing(drawn, ppi * repeats / MM_PER_INCH)


def fit_to_drawing(
    capture: Capture,
    drawing: Drawing,
    homography: FloatArray,
    box_mm: Box,
    *,
    dot_gain: bool = False,
    with_agreement: bool = False,
    finest: int = 1,
) -> DrawingFit:
    """Refine a homography to patch mm on what was drawn within a rectangle of the patch.

    Parameters
    ----------
    capture : Capture
    drawing : Drawing
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm, to be improved.
    box_mm : (float, float, float, float)
        Left, top, right and bottom on the patch; what of it lies in the frame is looked at.
    dot_gain : bool
        Dark may have spread over light, by a length of each window's own.
    with_agreement : bool
        Tell how much of what is seen agrees with the drawing.
    finest : int
        Reduction of the last step, in working pixels: 1, or more to start a larger part from.

    Raises
    ------
    NotFitError
        Too little of what was drawn there is seen.
    """
    per_mm, middle_mm = drawing.pixels_per_mm, middle_of(box_mm)
    factor = max(1, int(pixels_per_mm(homography, middle_mm) / WORKING_PIXELS_PER_MM))
    to_reference = np.array([[per_mm, 0, -0.5], [0, per_mm, -0.5], [0, 0, 1.0]])
    rows, columns = box_in_frame(capture, box_mm, homography)
    if min(rows.stop - rows.start, columns.stop - columns.start) < LEAST_SIDE_PX * factor:
        raise NotFitError("too little of the patch is in the frame")
    to_capture = reduction_matrix(factor, (columns.start, rows.start))
    seen = reduced_green(capture, factor, rows, columns)
    found = refine_homography(
        seen,
        drawing.reflectance,
        to_reference @ homography @ to_capture,
        dot_gain=dot_gain,
        finest=finest,
    )
    refined = np.linalg.inv(to_reference) @ found.homography @ np.linalg.inv(to_capture)
    refined = refined / refined[2, 2]
    reduced_per_mm = pixels_per_mm(refined, middle_mm) / factor
    return DrawingFit(
        homography=refined,
        residual_px=found.residual_px * factor,
        uncertainty_um=1000 * found.uncertainty_px / reduced_per_mm,
        agreement=agreement(seen, drawing.reflectance, found.homography, finest=finest)
        if with_agreement
        else float("nan"),
    )
