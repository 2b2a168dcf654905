"""The same millimetres of two prints on one grid, in linear light."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.registration.plane import map_points

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture.capture import Capture
    from dotloupe.capture.paper import Lighting

STRIP_MM = 2.0
MARGIN_PX = 4


def patch_picture(
    capture: Capture,
    homography: FloatArray,
    lighting: Lighting,
    *,
    box_mm: tuple[float, float, float, float],
    pixels_per_mm: float,
) -> FloatArray:
    """Bring a rectangle of the patch onto a grid, averaged by area, the fall of the light out.

    Parameters
    ----------
    capture : Capture
    homography : ndarray, shape (3, 3)
        Capture pixel to patch mm.
    lighting : Lighting
        Of this capture.
    box_mm : (left, top, right, bottom)
        In mm of the patch.
    pixels_per_mm : float
        Of the grid, no finer than the capture.

    Returns
    -------
    ndarray, shape (rows, columns, 3)
        Linear reflectance relative to the paper.

    Notes
    -----
    For what an eye makes of it: detail is measured on the capture's own pixels.
    """
    left, top, right, bottom = box_mm
    columns = round((right - left) * pixels_per_mm)
    rows = round((bottom - top) * pixels_per_mm)
    strip = max(1, round(STRIP_MM * pixels_per_mm))
    to_capture = np.linalg.inv(homography)
    parts = [
        _strip(
            capture,
            to_capture,
            lighting,
            (left, top + first / pixels_per_mm),
            (columns, min(strip, rows - first)),
            pixels_per_mm,
        )
        for first in range(0, rows, strip)
    ]
    return np.concatenate(parts)


def _strip(
    capture: Capture,
    to_capture: FloatArray,
    lighting: Lighting,
    corner_mm: tuple[float, float],
    size: tuple[int, int],
    pixels_per_mm: float,
) -> FloatArray:
    import cv2

    columns, rows = size
    ends = np.array(corner_mm) + np.array([[0, 0], [columns, 0], [0, rows], size]) / pixels_per_mm
    points = map_points(to_capture, ends)
    finer = max(1, ceil(np.linalg.norm(points[1] - points[0]) / columns))
    step = 1 / (pixels_per_mm * finer)
    to_mm = np.array(
        [[step, 0, corner_mm[0] + step / 2], [0, step, corner_mm[1] + step / 2], [0, 0, 1]]
    )
    low = np.maximum(np.floor(points.min(axis=0)).astype(int) - MARGIN_PX, 0)
    high = np.ceil(points.max(axis=0)).astype(int) + MARGIN_PX + 1
    around = capture.region(slice(low[1], high[1]), slice(low[0], high[0]))
    x, y = np.arange(around.shape[1]) + low[0], np.arange(around.shape[0]) + low[1]
    flat = (around / lighting.over(x[None, :], y[:, None])).astype(np.float32)
    back = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1]]) @ to_capture @ to_mm
    fine = cv2.warpPerspective(
        flat,
        back,
        (columns * finer, rows * finer),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.resize(fine, size, interpolation=cv2.INTER_AREA), dtype=float)
