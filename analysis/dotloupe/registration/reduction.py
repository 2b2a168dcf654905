"""Smaller pictures of a capture, for the search and for registration."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import Capture

STRIP_ROWS = 512
GREEN = 1


def preview_8bit(capture: Capture, longest_px: int) -> tuple[NDArray[np.uint8], float]:
    """Green channel as 8-bit coded values, its longest side at most `longest_px`.

    Returns
    -------
    image : ndarray of shape (rows, columns), uint8
    scale : float
        Preview pixels per capture pixel.
    """
    green = capture.pixels[..., GREEN]
    step = max(1, min(capture.shape) // (2 * longest_px))
    thinned = np.ascontiguousarray(green[::step, ::step])
    if thinned.dtype == np.uint16:
        thinned = (thinned >> 8).astype(np.uint8)
    scale = min(1.0, longest_px / max(capture.shape))
    size = (round(capture.shape[1] * scale), round(capture.shape[0] * scale))
    image = cv2.resize(thinned, size, interpolation=cv2.INTER_AREA)
    return np.asarray(image, dtype=np.uint8), scale


def reduced_green(capture: Capture, factor: int) -> FloatArray:
    """Reflectance of the green channel averaged over factor x factor pixels.

    Pixel (i, j) of the result has its centre at capture pixel
    ((i + 0.5) * factor - 0.5, (j + 0.5) * factor - 0.5).
    """
    rows, columns = (n // factor for n in capture.shape)
    reduced = np.empty((rows, columns), dtype=np.float32)
    strip = max(1, STRIP_ROWS // factor)
    for top in range(0, rows, strip):
        bottom = min(top + strip, rows)
        coded = capture.pixels[top * factor : bottom * factor, : columns * factor, GREEN]
        light = capture.linear[coded].reshape(bottom - top, factor, columns, factor)
        reduced[top:bottom] = light.mean(axis=(1, 3))
    return reduced / np.float32(capture.paper_level[GREEN])


def reduction_matrix(factor: int) -> FloatArray:
    """Homography from a pixel of `reduced_green` to the pixel of the capture."""
    offset = (factor - 1) / 2
    return np.array([[factor, 0, offset], [0, factor, offset], [0, 0, 1.0]])
