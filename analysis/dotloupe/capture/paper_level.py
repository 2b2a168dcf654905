"""The level of the paper, and how the light falls over it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import NotFitError

BLOCK_SHARE = 48
BRIGHT_PERCENTILE = 90.0
DEGREE = 3
POWERS = tuple((i, j) for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i))
"""Of x and y, in the terms of the polynomial."""
PATCH_PERCENTILE = 95.0
TUKEY_TUNING = 4.685
"""Tuning constant of the biweight at 95 % efficiency (Mosteller and Tukey 1977, from memory)."""


def paper_level(light: FloatArray) -> FloatArray:
    """Level of the paper from the brighter part of a frame, before anything is known of it.

    Parameters
    ----------
    light : ndarray of shape (rows, columns, 3)
        Linear light, reduced in size as one likes.

    Returns
    -------
    ndarray of shape (3,)
    """
    rows, columns = light.shape[:2]
    step = max(1, min(rows, columns) // BLOCK_SHARE)
    trimmed = np.ascontiguousarray(light[: rows - rows % step, : columns - columns % step])
    size = columns // step, rows // step
    blocks = np.asarray(cv2.resize(trimmed, size, interpolation=cv2.INTER_AREA))
    level = np.percentile(blocks.reshape(-1, 3), BRIGHT_PERCENTILE, axis=0)
    return np.maximum(level, 1e-4)


@dataclass(frozen=True)
class Lighting:
    """Light on the paper over the frame, relative to the capture's paper level.

    Attributes
    ----------
    coefficients : ndarray of shape (terms, 3)
        Of a polynomial of the third degree for the logarithm of the light.
    centre, reach : float
        Scale pixel coordinates to about -1 to 1.
    unevenness : float
        Largest over smallest light over the points it was fitted to, less 1.
    residual : float
        Relative rms of what the polynomial leaves, over the points that agree with it.
    patchiness : float
        Relative departure from the polynomial that one point in twenty exceeds: shadows and
        reflections, which do not agree with it.
    """

    coefficients: FloatArray
    centre: tuple[float, float]
    reach: float
    unevenness: float
    residual: float
    patchiness: float = 0.0

    def over(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Light at pixels (x, y), shape (*broadcast of x and y, 3)."""
        terms = _terms((x - self.centre[0]) / self.reach, (y - self.centre[1]) / self.reach)
        return np.exp(terms @ self.coefficients)

    def over_grid(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Light at every column `x` of every row `y`, shape (rows, columns, 3), float32."""
        u, v = (x - self.centre[0]) / self.reach, (y - self.centre[1]) / self.reach
        along_x, along_y = (np.vander(w, DEGREE + 1, increasing=True) for w in (u, v))
        table = np.zeros((DEGREE + 1, DEGREE + 1, 3))
        for (i, j), coefficient in zip(POWERS, self.coefficients, strict=True):
            table[j, i] = coefficient
        by_column = np.einsum("xi,jic->jxc", along_x, table).reshape(DEGREE + 1, -1)
        logs = along_y.astype(np.float32) @ by_column.astype(np.float32)
        return np.exp(logs, out=logs).reshape(len(y), len(x), 3)


def fit_lighting(points: FloatArray, levels: FloatArray) -> Lighting:
    """Fit the fall of the light to levels of clear paper.

    Parameters
    ----------
    points : ndarray of shape (n, 2)
        Pixel coordinates (x, y).
    levels : ndarray of shape (n, 3)
        Reflectance measured there.

    Raises
    ------
    NotFitError
        Too few clear places, or paper that is black.
    """
    usable = np.all(levels > 0.02, axis=1) & np.all(np.isfinite(levels), axis=1)
    points, levels = points[usable], levels[usable]
    if len(points) < 30:
        raise NotFitError("too little clear paper around the elements; frame the whole patch")
    (x0, y0), reach = points.mean(axis=0), float(np.ptp(points, axis=0).max()) / 2
    terms = _terms((points[:, 0] - x0) / reach, (points[:, 1] - y0) / reach)
    logs = np.log(levels)
    weights = np.ones(len(points))
    for _ in range(10):
        weighted = (terms * weights[:, None]).T
        coefficients = np.linalg.lstsq(weighted @ terms, weighted @ logs, rcond=None)[0]
        left = np.abs(logs - terms @ coefficients).max(axis=1)
        scale = max(float(np.median(left)) / 0.6745, 1e-6)
        weights = np.clip(1 - (left / (TUKEY_TUNING * scale)) ** 2, 0, 1) ** 2
    fitted = np.exp(terms @ coefficients)[:, 1]
    left_over = (logs - terms @ coefficients)[:, 1]
    residual = np.sqrt(np.average(left_over**2, weights=weights))
    patchiness = float(np.expm1(np.percentile(np.abs(left_over), PATCH_PERCENTILE)))
    unevenness = float(fitted.max() / fitted.min() - 1)
    return Lighting(
        coefficients, (float(x0), float(y0)), reach, unevenness, float(residual), patchiness
    )


def _terms(u: FloatArray, v: FloatArray) -> FloatArray:
    u, v = np.broadcast_arrays(u, v)
    return np.stack([u**i * v**j for i, j in POWERS], axis=-1)
