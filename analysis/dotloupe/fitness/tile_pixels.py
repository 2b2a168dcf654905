"""Pixels of a tint as they were stored, for what shows in single pixels."""

from __future__ import annotations

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.patch import Region
from dotloupe.registration import View, jacobian, map_points

TILE_MM = 2.7
BORDER_MM = 0.2
GREEN = 1


def tile_pixels(view: View, region: Region) -> FloatArray:
    """Green reflectance of the middle of a region, upright in the frame, not reduced."""
    to_capture = np.linalg.inv(view.registration.homography)
    local = jacobian(to_capture, region.centre_mm)
    size_mm = np.minimum(
        np.array([region.width_mm, region.height_mm]) - 2 * BORDER_MM, (TILE_MM, TILE_MM)
    )
    half = size_mm / 2 * np.linalg.norm(local, axis=0)
    turned = np.arctan2(local[1, 0], local[0, 0]) % np.pi
    if np.pi / 4 < turned < 3 * np.pi / 4:
        half, turned = half[::-1], turned - np.pi / 2
    # The largest upright rectangle of these proportions in the turned one.
    lean = np.abs(np.tan(turned))
    half = half / (1 + lean * max(half[0] / half[1], half[1] / half[0]))
    x, y = map_points(to_capture, np.array([region.centre_mm]))[0]
    rows, columns = view.capture.shape
    first = max(round(y - half[1]), 0), max(round(x - half[0]), 0)
    last = min(round(y + half[1]), rows), min(round(x + half[0]), columns)
    coded = view.capture.pixels[first[0] : last[0], first[1] : last[1], GREEN]
    by_value = (view.capture.linear / view.capture.paper_level[GREEN]).astype(np.float32)
    return np.asarray(cv2.LUT(np.ascontiguousarray(coded), by_value))
