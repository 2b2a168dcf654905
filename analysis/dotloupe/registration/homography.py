"""Points through a homography, and its local scale."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray


def map_points(homography: FloatArray, points: FloatArray) -> FloatArray:
    """Map points (x, y), shape (..., 2), through a homography."""
    mapped = np.asarray(points, dtype=float) @ homography[:, :2].T + homography[:, 2]
    return np.asarray(mapped[..., :2] / mapped[..., 2:])


def jacobian(homography: FloatArray, point: tuple[float, float]) -> FloatArray:
    """Derivative of the mapped point by the point, shape (2, 2)."""
    x, y, w = homography @ (point[0], point[1], 1.0)
    mapped = np.array([x, y]) / w
    return (homography[:2, :2] - np.outer(mapped, homography[2, :2])) / w
