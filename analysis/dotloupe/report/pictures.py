"""Pictures of prints for looking at: the same millimetres of every setting at the same scale.

They are resampled through the registration, so they are for the eye; every number is measured on
the photographs' own pixels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import DotloupeError

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture.capture import Capture
    from dotloupe.measurement import Measurement

PAPER_LEVEL = 0.88
"""Linear light at which paper is shown, so that highlights above it keep their detail."""

FULL_SCALE = 1.6
"""Largest reflectance relative to paper that is carried."""

STRIP_MM = 2.0

NO_PLACE = "where it lies on its patch is not known"


@dataclass(frozen=True)
class Box:
    """A rectangle of a patch in mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Photograph:
    """A capture read again, with where it lies on its patch."""

    capture: Capture
    to_capture: FloatArray
    lighting: Any
    pixels_per_mm: float

    def picture(self, box: Box, pixels_per_mm: float) -> NDArray[np.uint8]:
        """Show a box of the patch as sRGB, shape (rows, columns, 3), paper of one tone throughout.

        Parameters
        ----------
        box : Box
            What lies outside the photograph is shown black.
        pixels_per_mm : float
            Of the picture. Finer pixels of the photograph are averaged by area in linear light.
        """
        strips = []
        rows = max(1, round(box.height_mm * pixels_per_mm))
        step = max(1, round(STRIP_MM * pixels_per_mm))
        for first in range(0, rows, step):
            count = min(step, rows - first)
            strips.append(self._strip(box, pixels_per_mm, first, count))
        return np.concatenate(strips)

    def _strip(
        self, box: Box, pixels_per_mm: float, first_row: int, rows: int
    ) -> NDArray[np.uint8]:
        import cv2

        columns = max(1, round(box.width_mm * pixels_per_mm))
        finer = max(1, math.ceil(0.9 * self.pixels_per_mm / pixels_per_mm))
        per_mm = pixels_per_mm * finer
        corner = (box.x_mm, box.y_mm + first_row / pixels_per_mm)
        to_mm = np.array(
            [
                [1 / per_mm, 0, corner[0] + 0.5 / per_mm],
                [0, 1 / per_mm, corner[1] + 0.5 / per_mm],
                [0, 0, 1.0],
            ]
        )
        back = self.to_capture @ to_mm
        size = (columns * finer, rows * finer)
        source, offset = self._around(back, size)
        if source.size == 0:
            return np.zeros((rows, columns, 3), np.uint8)
        shift = np.array([[1, 0, -offset[0]], [0, 1, -offset[1]], [0, 0, 1.0]])
        light = cv2.warpPerspective(
            source, shift @ back, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        )
        if finer > 1:
            light = cv2.resize(light, (columns, rows), interpolation=cv2.INTER_AREA)
        flat = light * (
            PAPER_LEVEL / self._light(back @ np.diag([finer, finer, 1.0]), rows, columns)
        )
        return _srgb_table()[np.clip(flat * 4095, 0, 4095).astype(np.uint16)]

    def _around(
        self, back: FloatArray, size: tuple[int, int]
    ) -> tuple[FloatArray, tuple[int, int]]:
        """Return the part of the photograph that a strip needs, linear, and its top left pixel."""
        from dotloupe.registration.plane import map_points

        columns, rows = size
        corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=float)
        points = map_points(back, corners)
        low = np.maximum(np.floor(points.min(axis=0)).astype(int) - 3, 0)
        high = np.ceil(points.max(axis=0)).astype(int) + 4
        part = self.capture.region(slice(low[1], max(high[1], 0)), slice(low[0], max(high[0], 0)))
        return np.minimum(part, FULL_SCALE), (int(low[0]), int(low[1]))

    def _light(self, back: FloatArray, rows: int, columns: int) -> FloatArray:
        """Fall of the light over a strip, from a coarse mesh; 1 where it was not measured."""
        import cv2

        from dotloupe.registration.plane import map_points

        if self.lighting is None:
            return np.ones((1, 1, 3), np.float32)
        across, down = np.linspace(0, columns - 1, 33), np.linspace(0, rows - 1, 5)
        mesh = np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2)
        points = map_points(back, mesh)
        light = self.lighting.over(points[:, 0], points[:, 1]).reshape(5, 33, 3)
        return cv2.resize(light.astype(np.float32), (columns, rows))


@dataclass(frozen=True)
class Unseen:
    """Why a capture cannot be shown."""

    reason: str


def photograph(measurement: Measurement) -> Photograph | Unseen:
    """Read the capture of a measurement again, if it is still the one that was measured."""
    from dotloupe.capture.reading import load_capture

    registration = measurement.details.get("registration")
    if registration is None:
        return Unseen(NO_PLACE)
    try:
        capture = load_capture(Path(measurement.path))
    except DotloupeError as error:
        return Unseen(str(error))
    if capture.sha256 != measurement.sha256:
        return Unseen("the file is not the one that was measured any more")
    return Photograph(
        capture,
        np.linalg.inv(registration.homography),
        measurement.details.get("lighting"),
        registration.pixels_per_mm,
    )


def _srgb_table() -> NDArray[np.uint8]:
    """Return the sRGB code of 4096 levels of linear light."""
    from dotloupe.patch.srgb import srgb_encode

    return np.round(255 * srgb_encode(np.arange(4096) / 4095)).astype(np.uint8)
