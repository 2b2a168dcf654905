"""Points through a homography, and its derivative and scale about a point."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray


def map_points(homography: FloatArray, points: FloatArray) -> FloatArray:
    """Map points (x, y), shape (..., 2), through a homography."""
    mapped = np.asarray(points, dtype=float) @ homography[:, :2].T + homography[:, 2]
    return np.asarray(mapped[..., :2] / mapped[..., 2:])


def corners_in_capture(
    homography: FloatArray, box_mm: tuple[float, float, float, float]
) -> FloatArray:
    """Capture pixels of the corners of a rectangle on the patch, clockwise from its first.

    Parameters
    ----------
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    box_mm : (float, float, float, float)
        Left, top, right and bottom.

    Returns
    -------
    ndarray of shape (4, 2)
    """
    left, top, right, bottom = box_mm
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    return map_points(np.linalg.inv(homography), corners)


def jacobian(homography: FloatArray, point: FloatArray | tuple[float, float]) -> FloatArray:
    """Derivative of the mapped point by the point (x, y), shape (2, 2)."""
    x, y, w = homography @ (point[0], point[1], 1.0)
    mapped = np.array([x, y]) / w
    return np.asarray((homography[:2, :2] - np.outer(mapped, homography[2, :2])) / w)


def local_scale(homography: FloatArray, point: FloatArray | tuple[float, float]) -> float:
    """Units after the map per unit before it, about a point (x, y): sqrt |det J|."""
    return float(np.sqrt(abs(np.linalg.det(jacobian(homography, point)))))


def pixels_per_mm(to_mm: FloatArray, point_mm: FloatArray | tuple[float, float]) -> float:
    """Capture pixels per mm about a point of the patch, by a homography from pixel to mm."""
    return local_scale(np.linalg.inv(to_mm), point_mm)
