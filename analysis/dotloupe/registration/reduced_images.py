"""Smaller pictures of a capture, for the search and for registration."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture import LUMINANCE, Capture
from dotloupe.measure import coarser
from dotloupe.registration.working_resolution import block_mean

STRIP_ROWS = 128
"""Rows read at once; of 24 megapixels they then fit a processor's cache."""
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


def reduced_green(
    capture: Capture, factor: int, rows: slice = slice(None), columns: slice = slice(None)
) -> FloatArray:
    """Reflectance of the green channel averaged over factor x factor pixels.

    Parameters
    ----------
    capture : Capture
    factor : int
    rows, columns : slice
        The part of the frame to take.
    """
    part = capture.pixels[rows, columns, GREEN]
    height, width = (n // factor for n in part.shape)
    by_value = (capture.linear / np.float32(capture.paper_level[GREEN])).astype(np.float32)
    reduced = np.empty((height, width), dtype=np.float32)
    strip = max(1, STRIP_ROWS // factor)
    for top in range(0, height, strip):
        bottom = min(top + strip, height)
        coded = np.ascontiguousarray(part[top * factor : bottom * factor, : width * factor])
        light = np.asarray(cv2.LUT(coded, by_value), dtype=np.float32)
        reduced[top:bottom] = block_mean(light, factor)
    return reduced


def mean_of_channels(capture: Capture) -> FloatArray:
    """Mean reflectance of the channels over the whole frame: the dots of all inks average best."""
    total = np.zeros(capture.shape, np.float32)
    for channel, level in enumerate(capture.paper_level):
        by_value = capture.linear / np.float32(3 * level)
        for top in range(0, capture.shape[0], STRIP_ROWS):
            strip = slice(top, top + STRIP_ROWS)
            coded = np.ascontiguousarray(capture.pixels[strip, :, channel])
            total[strip] += cv2.LUT(coded, by_value)
    return total


def reduced_luminance(capture: Capture, factor: int, rows: slice, columns: slice) -> FloatArray:
    """Luminance factor averaged over factor x factor pixels, of a part of the reduced frame.

    Pixels of the result lie as those of `reduced_green`; `rows` and `columns` count them.

    Parameters
    ----------
    capture : Capture
    factor : int
        Capture pixels per pixel of the result, each way.
    rows, columns : slice
        Of the reduced frame.
    """
    height, width = rows.stop - rows.start, columns.stop - columns.start
    reduced = np.empty((height, width), dtype=np.float32)
    strip = max(1, STRIP_ROWS // factor)
    across = slice(columns.start * factor, columns.stop * factor)
    for top in range(0, height, strip):
        bottom = min(top + strip, height)
        part = slice((rows.start + top) * factor, (rows.start + bottom) * factor)
        light = capture.linear[capture.pixels[part, across]] @ (LUMINANCE / capture.paper_level)
        reduced[top:bottom] = coarser(light, factor)
    return reduced


def reduction_matrix(factor: int, first: tuple[int, int] = (0, 0)) -> FloatArray:
    """Homography from a pixel of `reduced_green` to the pixel of the capture.

    Parameters
    ----------
    factor : int
    first : (int, int)
        Column and row of the capture at which the part taken begins.
    """
    x, y = (start + (factor - 1) / 2 for start in first)
    return np.array([[factor, 0, x], [0, factor, y], [0, 0, 1.0]])
