"""How large a patch was printed, where that is known: its registration in true millimetres."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dotloupe.capture import Capture
from dotloupe.cautions import Caution
from dotloupe.errors import NotFitError
from dotloupe.registration.mark_search import mark_regions
from dotloupe.registration.registration import Registration

AS_DRAWN = 0.01
"""A scanner's own scale is off by parts of a per cent (common practice, no source): a patch whose
scan says that it is off by no more counts as printed at 100 %."""
SMALLEST, LARGEST = 0.5, 2.0


@dataclass(frozen=True)
class PrintedScale(Caution):
    """The patch was not printed at 100 %; lengths and frequencies are those on the print.

    Attributes
    ----------
    percent : float
        Of the size that was drawn.
    width_mm : float
        From outer edge to outer edge of the corner marks, as printed.
    told : bool
        A person measured the width; else the scan states its resolution.
    """

    percent: float
    width_mm: float
    told: bool


def marks_width_mm() -> float:
    """Width over the corner marks as drawn, from outer edge to outer edge."""
    corners = np.array([corner for region in mark_regions() for corner in region.corners_mm])
    return float(np.ptp(corners[:, 0]))


def in_true_mm(
    registration: Registration, capture: Capture, true_width_mm: float | None = None
) -> Registration:
    """Bring a registration on a patch from millimetres as drawn to those on the print.

    Parameters
    ----------
    registration : Registration
        In mm as drawn.
    capture : Capture
        Of the print; a scan may state its resolution.
    true_width_mm : float, optional
        Width over the corner marks, measured on the print.

    Returns
    -------
    Registration
        The same where nothing says how large the patch was printed, or a scan that it was printed
        at 100 %.

    Raises
    ------
    NotFitError
        The width is not that of a patch.
    """
    drawn_mm, known = marks_width_mm(), capture.settings.pixels_per_mm
    if registration.patch is None or registration.part is not None:
        return registration
    if true_width_mm is not None:
        scale = true_width_mm / drawn_mm
        if not SMALLEST <= scale <= LARGEST:
            raise NotFitError(
                f"{true_width_mm:g} mm over its marks, which were drawn {drawn_mm:g} mm wide: "
                "measure from outer edge to outer edge, in mm"
            )
    elif known is not None and SMALLEST <= registration.pixels_per_mm / known <= LARGEST:
        scale = registration.pixels_per_mm / known
        if abs(scale - 1) <= AS_DRAWN:
            return registration
    else:
        return registration
    caution = PrintedScale(100 * scale, scale * drawn_mm, told=true_width_mm is not None)
    found = at_scale(registration, scale)
    return replace(found, cautions=(*found.cautions, caution))


def at_scale(registration: Registration, scale: float) -> Registration:
    """Bring a registration on a patch to millimetres `scale` times as short as those it is in."""
    if registration.patch is None:
        return registration
    homography = np.diag([scale, scale, 1.0]) @ registration.homography
    sight = registration.sight_mm
    return replace(
        registration,
        homography=homography / homography[2, 2],
        pixels_per_mm=registration.pixels_per_mm / scale,
        residual_um=registration.residual_um * scale,
        patch=replace(registration.patch, scale=registration.patch.scale * scale),
        sight_mm=None
        if sight is None
        else (sight[0] * scale, sight[1] * scale, sight[2] * scale, sight[3] * scale),
    )
