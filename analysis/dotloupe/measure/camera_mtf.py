"""The camera's own response, and taking it out of what it photographed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError

if TYPE_CHECKING:
    from dotloupe.measure.edge import EdgeResponse

CAMERA_FLOOR = 0.2
"""Division stops where the camera passes less than this share (common practice, from memory)."""


@dataclass(frozen=True)
class CameraCurve:
    """A camera's MTF in the plane of the print.

    Attributes
    ----------
    frequency : ndarray, shape (m,)
        Cycles/mm on the print, from 0 up.
    mtf : ndarray, shape (m,)
    error : ndarray, shape (m,)
        Standard error of `mtf`, zero where the curve was given as exact.
    runs : str or None
        The direction the reference edge ran in, where there was one.
    """

    frequency: FloatArray
    mtf: FloatArray
    error: FloatArray
    runs: str | None = None

    @property
    def reach(self) -> float:
        """Frequency up to which the curve is known and at least `CAMERA_FLOOR`."""
        below = np.nonzero(self.mtf < CAMERA_FLOOR)[0]
        if below.size == 0:
            return float(self.frequency[-1])
        i = max(int(below[0]), 1)
        share = (self.mtf[i - 1] - CAMERA_FLOOR) / (self.mtf[i - 1] - self.mtf[i])
        return float(self.frequency[i - 1] + share * (self.frequency[i] - self.frequency[i - 1]))


Camera: TypeAlias = "EdgeResponse | CameraCurve | tuple[FloatArray, FloatArray]"
"""What `camera_mtf` may be: a reference edge's response, or (cycles/mm, mtf) arrays."""


def camera_curve(camera: Camera) -> CameraCurve:
    """Bring either form of a camera's response to one curve with its standard error.

    Parameters
    ----------
    camera : EdgeResponse, CameraCurve or (frequency, mtf)
        The response of a reference edge photographed in the same set-up, whose interval
        becomes the error; or a pair of arrays, cycles/mm and MTF, taken as exact.

    Raises
    ------
    RegionError
        If the curve is not one: unequal lengths, falling frequencies, no value near 1 at 0.
    """
    if isinstance(camera, CameraCurve):
        return camera
    runs = None
    if isinstance(camera, tuple):
        if len(camera) != 2:
            raise RegionError("a camera response is a pair of arrays: cycles/mm and MTF")
        frequency = np.asarray(camera[0], dtype=float)
        mtf = np.asarray(camera[1], dtype=float)
        error = np.zeros_like(mtf)
    else:
        frequency, mtf = camera.frequency, camera.mtf
        error, runs = (camera.mtf_high - camera.mtf) / 1.96, camera.runs
    if frequency.ndim != 1 or frequency.shape != mtf.shape or frequency.size < 2:
        raise RegionError("a camera response needs two arrays of one length: cycles/mm and MTF")
    if not (np.isfinite(frequency).all() and np.isfinite(mtf).all()):
        raise RegionError("the camera response holds missing values (NaN or infinite)")
    if frequency[0] < 0 or (np.diff(frequency) <= 0).any():
        raise RegionError("the frequencies of a camera response must rise from 0, in cycles/mm")
    if frequency[0] > 0:
        frequency, mtf, error = (
            np.concatenate([[0.0], frequency]),
            np.concatenate([[1.0], mtf]),
            np.concatenate([[0.0], error]),
        )
    if not 0.9 <= mtf[0] <= 1.1:
        raise RegionError("a camera response must be 1 at zero frequency; divide it by its start")
    return CameraCurve(frequency, mtf, error, runs)


def camera_response(reflectance: FloatArray, pixels_per_mm: float) -> EdgeResponse:
    """Response of the camera, from a reference edge photographed as the prints are.

    A razor blade or a metal rule laid on white paper, in the plane of the print, tilted by
    about 5 degrees, with the same lens, aperture, distance, light and processing. The usual
    caution: the blade must be sharp, clean and flat on the paper, dark and matt (or smoked),
    lit so that it throws no shadow; what blur it has is charged to the camera and taken out of
    the print. Both directions need their own edge.

    Parameters
    ----------
    reflectance : ndarray, shape (rows, columns)
    pixels_per_mm : float

    Returns
    -------
    EdgeResponse
        To be given as `camera_mtf`, with a flag where the edge overshoots.

    Raises
    ------
    RegionError
        If the region holds no usable edge, or one of less than 3:1.
    """
    from dotloupe.measure.edge import slanted_edge

    response = slanted_edge(reflectance, pixels_per_mm)
    if response.reflectance_light < 3.0 * max(response.reflectance_dark, 0.0):
        raise RegionError(
            "the reference edge has a contrast under 3:1; use a dark blade on white paper"
        )
    return replace(response, flags=("reference edge of the camera", *response.flags))
