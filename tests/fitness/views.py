"""Views of a drawn patch at a known place, without a camera."""

import numpy as np

from dotloupe.capture.capture import Capture
from dotloupe.capture.paper_level import Lighting
from dotloupe.patch.patch import Patch
from dotloupe.registration.registration import Registration
from dotloupe.registration.view import View

PER_MM = 50.0
CURVE = np.linspace(0, 1, 65536, dtype=np.float32)
EVEN = Lighting(np.zeros((10, 3)), (0.0, 0.0), 1.0, 0.0, 0.0)
SHARP_PPI = PER_MM * 25.4
"""A patch drawn at the sampling of the capture: its pixels are the capture's."""


def view_of(light, homography=None, sent_ppi=600):
    """A view of green light that lies on the patch by a homography, or square at 50 pixels/mm."""
    pixels = np.round(np.clip(light, 0, 1) * 65535).astype(np.uint16)
    pixels = np.broadcast_to(pixels[..., None], (*light.shape, 3))
    capture = Capture("a.tif", "", pixels, CURVE, np.ones(3))
    if homography is None:
        homography = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, PER_MM]]) / PER_MM
    patch = Patch(sent_ppi, 3)
    registration = Registration(homography, PER_MM, 1.0, 0.05, patch, run=3, sent_ppi=sent_ppi)
    return View(capture, registration, patch, EVEN)
