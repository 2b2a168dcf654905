"""The camera's own response, to be taken out of what it photographed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.level_crossing import falls_below

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
        crossing = float(falls_below(self.frequency, self.mtf, CAMERA_FLOOR))
        return float(self.frequency[-1]) if np.isnan(crossing) else crossing


class MeasuredMtf(Protocol):
    """An MTF measured on a reference edge: an `EdgeResponse` is one.

    Where it has `mtf_error`, the standard error of `mtf`, and `runs`, the direction of its edge,
    they are used too.
    """

    @property
    def frequency(self) -> FloatArray:
        """Cycles/mm on the print, shape (m,)."""

    @property
    def mtf(self) -> FloatArray:
        """Shape (m,)."""


Camera: TypeAlias = MeasuredMtf | CameraCurve | tuple[FloatArray, FloatArray]
"""What `camera_mtf` may be: a reference edge's response, or (cycles/mm, mtf) arrays."""


def camera_curve(camera: Camera) -> CameraCurve:
    """Bring any form of a camera's response to one curve with its standard error.

    Parameters
    ----------
    camera : EdgeResponse, CameraCurve or (frequency, mtf)
        The response of a reference edge photographed in the same set-up, or any object with
        `.frequency` and `.mtf`, with its error where it has one; or a pair of arrays, cycles/mm
        and MTF, taken as exact.

    Returns
    -------
    CameraCurve

    Raises
    ------
    RegionError
        If the curve is not one: unequal lengths, falling frequencies, no value near 1 at 0.
    """
    if isinstance(camera, CameraCurve):
        return camera
    given = _parts(camera)
    frequency, mtf = (np.asarray(part, dtype=float) for part in given[:2])
    error = np.zeros_like(mtf) if given[2] is None else given[2]
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
    return CameraCurve(frequency, mtf, error, getattr(camera, "runs", None))


def _parts(
    camera: MeasuredMtf | tuple[FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray, FloatArray | None]:
    if isinstance(camera, (tuple, list)):
        if len(camera) != 2:
            raise RegionError("a camera response is a pair of arrays: cycles/mm and MTF")
        return *camera, None
    if hasattr(camera, "frequency") and hasattr(camera, "mtf"):
        return camera.frequency, camera.mtf, getattr(camera, "mtf_error", None)
    raise RegionError(
        "camera_mtf must be a pair (frequency in cycles/mm, mtf), or an object with .frequency "
        "and .mtf"
    )
