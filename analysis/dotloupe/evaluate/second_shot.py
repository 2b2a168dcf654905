"""A second photograph of the same print, taken without moving print or camera."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import DotloupeError
from dotloupe.registration import View, at_scale, corners_in_capture, register, view_of

if TYPE_CHECKING:
    from dotloupe.capture import Capture

MOST_MOVED_PX = 2.0
"""Further than a shutter shakes a stand; a print laid anew lies tens of pixels off."""


def second_view(view: View, second_shot: Capture) -> View | None:
    """Look at a second shot through the registration of the first.

    Parameters
    ----------
    view : View
        The first shot.
    second_shot : Capture

    Returns
    -------
    View or None
        None where the two do not show one patch at one place: another size of frame, another run
        or resolution, a corner that moved, or no patch at all.
    """
    if second_shot.shape != view.capture.shape:
        return None
    try:
        registration = at_scale(register(second_shot), view.patch.scale)
        other = view_of(second_shot, registration)
    except DotloupeError:
        return None
    first = view.registration
    if (first.run, first.sent_ppi) != (registration.run, registration.sent_ppi):
        return None
    box_mm = (0.0, 0.0, *view.patch.size_mm)
    one, two = (corners_in_capture(r.homography, box_mm) for r in (first, registration))
    if np.hypot(*(two - one).T).max() > MOST_MOVED_PX:
        return None
    return View(second_shot, first, view.patch, other.lighting)
