"""A photograph as measured: linear reflectance relative to the paper, and where it came from."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from pathlib import PurePath
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture.exif import CameraSettings
from dotloupe.cautions import Caution

LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
"""Weights of linear sRGB in luminance (IEC 61966-2-1)."""


@dataclass(frozen=True)
class Capture:
    """One photograph of a print.

    The decoded pixels are kept as they are; floating-point reflectance is made for the regions
    that are asked for.

    Attributes
    ----------
    path, sha256 : str
        The file and the hash of its bytes.
    pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
        As decoded, upright by the file's own orientation.
    linear : ndarray of shape (levels,), float32
        Linear light of each pixel value, 1 at the highest; below 0 where a camera file's noise
        lies under its black.
    paper_level : ndarray of shape (3,)
        Linear light of the paper in each channel.
    warnings : tuple of Caution
        What a reader of the numbers must know of the file.
    settings : CameraSettings
        Camera, lens and exposure as the file tells them.
    jpeg_steps : tuple of 64 int, or empty
        Steps that a JPEG's brightness was rounded to, frequency by frequency from the top left
        of a block, row by row.
    profile : bytes or None
        The file's own ICC profile.
    from_raw : bool
        Developed here from what the sensor gave, so that nothing sharpened it.
    """

    path: str
    sha256: str
    pixels: NDArray[np.unsignedinteger[Any]]
    linear: FloatArray
    paper_level: FloatArray
    warnings: tuple[Caution, ...] = ()
    settings: CameraSettings = field(default_factory=CameraSettings)
    jpeg_steps: tuple[int, ...] = ()
    profile: bytes | None = None
    from_raw: bool = False

    @property
    def name(self) -> str:
        """File name without its folder."""
        return PurePath(self.path).name

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.pixels.shape[0], self.pixels.shape[1]

    @cached_property
    def reflectance(self) -> FloatArray:
        """Reflectance of the whole frame, shape (rows, columns, 3), paper = 1."""
        return self.region(slice(None), slice(None))

    def region(self, rows: slice, columns: slice, *, most: float = np.inf) -> FloatArray:
        """Reflectance of a part of the frame.

        Parameters
        ----------
        rows, columns : slice
        most : float
            What is brighter counts as so bright.

        Returns
        -------
        ndarray of shape (rows, columns, 3)
            Paper = 1.
        """
        return self.reflectance_of(self.pixels[rows, columns], most=most)

    def reflectance_of(
        self, pixels: NDArray[np.unsignedinteger[Any]], *, most: float = np.inf
    ) -> FloatArray:
        """Reflectance of some of the pixels.

        Parameters
        ----------
        pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
        most : float
            What is brighter counts as so bright.

        Returns
        -------
        ndarray of shape (rows, columns, 3)
            Paper = 1.
        """
        import cv2

        if not pixels.size:
            return np.zeros(pixels.shape, dtype=np.float32)
        by_value = self._reflectance_by_value
        if most < np.inf:
            by_value = np.minimum(by_value, np.float32(most))
        return np.asarray(cv2.LUT(pixels, by_value))

    @cached_property
    def _reflectance_by_value(self) -> FloatArray:
        """Reflectance of each pixel value in each channel, shape (1, levels, 3), float32."""
        by_value = self.linear[:, None] / self.paper_level.astype(np.float32)
        return np.asarray(by_value[None], dtype=np.float32)

    def luminance(self, rows: slice, columns: slice) -> FloatArray:
        """Luminance factor of a part of the frame.

        Parameters
        ----------
        rows, columns : slice

        Returns
        -------
        ndarray of shape (rows, columns)
            Paper = 1.
        """
        return self.region(rows, columns) @ LUMINANCE
