"""The camera's response from a photograph of a reference edge, in the set-up of the prints."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from dotloupe.capture import LUMINANCE
from dotloupe.errors import NotFitError, RegionError
from dotloupe.measure import CameraCurve, camera_curve
from dotloupe.measure.edge import camera_response as response_of_edge

if TYPE_CHECKING:
    from dotloupe.capture import Capture
    from dotloupe.measure.edge import EdgeResponse

CENTRAL_SHARE = 0.4
"""Side of the square measured, of the frame's shorter side: around the middle, where lenses are
best and where the patch's edges lie too."""


@dataclass(frozen=True)
class ReferenceEdge:
    """A camera's response in the frame, for prints whose own marks tell the scale.

    Attributes
    ----------
    path, sha256 : str
        The photograph of the reference edge.
    per_pixel : CameraCurve
        Against cycles per pixel of the frame.
    """

    path: str
    sha256: str
    per_pixel: CameraCurve

    def on_print(self, pixels_per_mm: float) -> CameraCurve:
        """Response against cycles/mm, for a print photographed at this scale."""
        return replace(self.per_pixel, frequency=self.per_pixel.frequency * pixels_per_mm)


def reference_edge(capture: Capture) -> ReferenceEdge:
    """Measure a reference edge as `camera_response` does, without asking for its scale.

    Raises
    ------
    NotFitError
        As `camera_response`.
    """
    curve = camera_curve(camera_response(capture, pixels_per_mm=1.0))
    return ReferenceEdge(capture.path, capture.sha256, curve)


def camera_response(capture: Capture, pixels_per_mm: float) -> EdgeResponse:
    """Measure the camera on a reference edge that crosses the middle of the frame.

    The edge of a razor blade or a metal rule, flat on white paper in the plane of the prints and
    tilted by about 5 degrees, photographed with the same lens, aperture, distance, light and
    processing. A blade is sharp: handle it as its maker says, tape it down before you work, and
    keep fingers off the edge.

    Parameters
    ----------
    capture : Capture
    pixels_per_mm : float
        Scale of the set-up, as the `Registration` of a print photographed in it has it.

    Returns
    -------
    EdgeResponse
        To be given as `camera_mtf` to `measure_capture`, `slanted_edge` and `grain`.

    Raises
    ------
    NotFitError
        No single edge of enough contrast crosses the middle of the frame.
    """
    rows, columns = capture.shape
    half = int(CENTRAL_SHARE * min(rows, columns) / 2)
    middle = capture.region(
        slice(rows // 2 - half, rows // 2 + half), slice(columns // 2 - half, columns // 2 + half)
    )
    try:
        response = response_of_edge(middle @ LUMINANCE, pixels_per_mm)
    except RegionError as error:
        raise NotFitError(
            f"{capture.path}: no reference edge across the middle of the frame ({error})"
        ) from error
    return replace(response, cautions=(*response.cautions, *capture.warnings))
