"""Two images of different sampling, brought to one working resolution without resampling either."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import scipy

from dotloupe.errors import InputError
from dotloupe.registration.homography import local_scale, map_points

if TYPE_CHECKING:
    from dotloupe.arrays import BoolArray, FloatArray

BLUR_PX = 1.0
"""Gaussian given to both images, in working pixels: cubic splines then interpolate to 1e-4."""
REFERENCE_MARGIN_PX = 6
"""Reference kept around the footprint of the frame, in reduced reference pixels."""


@dataclass(frozen=True)
class Level:
    """Both images low-passed to one working resolution.

    `observed_to_full` and `reference_to_full` map pixels of the level to pixels of the images
    given; `spline` holds the cubic spline coefficients of the reference.
    """

    observed: FloatArray
    spline: FloatArray
    observed_to_full: FloatArray
    reference_to_full: FloatArray
    step_px: int


def sampling_ratio(homography: FloatArray, point: FloatArray) -> float:
    """Observed pixels per reference pixel about an observed point (x, y)."""
    scale = local_scale(homography, point)
    return 1.0 / scale if scale > 0 else np.inf


def block_mean(image: FloatArray, step: int) -> FloatArray:
    """Mean of step x step blocks, whole blocks only, as float32.

    Block (i, j) is centred on pixel step * i + (step - 1) / 2.
    """
    if step == 1:
        return image.astype(np.float32, copy=False)
    rows, columns = image.shape[0] // step, image.shape[1] // step
    whole = np.ascontiguousarray(image[: rows * step, : columns * step], dtype=np.float32)
    return np.asarray(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA))


def block_to_full(step: int) -> FloatArray:
    """Affine that maps pixels of `block_mean` to pixels of the image it was made from."""
    half = (step - 1) / 2
    return np.array([[step, 0.0, half], [0.0, step, half], [0.0, 0.0, 1.0]])


def prepare_level(
    observed: FloatArray, reference: FloatArray, homography: FloatArray, coarseness: int = 1
) -> Level:
    """Bring both images to a common working resolution.

    The finer image is reduced: the observed one by block means to between one and two working
    pixels per reference pixel, or the reference by a low-pass as wide as an observed pixel.

    Parameters
    ----------
    observed, reference : 2-D arrays
    homography : (3, 3) array
        Observed pixel (x, y, 1) to reference pixel.
    coarseness : int
        Further reduction by this factor, for a start that is far off.

    Raises
    ------
    InputError
        The homography is singular, or puts the frame outside the reference.
    """
    height, width = observed.shape
    scale = sampling_ratio(homography, np.array([(width - 1) / 2, (height - 1) / 2]))
    if not np.isfinite(scale) or scale <= 0:
        raise InputError("The homography to refine is singular; give one that maps the frame.")
    step = max(1, int(scale + 1e-9)) * coarseness
    per_working_px = step / scale
    reference_step = max(1, int(per_working_px / 2))
    crop, origin = _footprint(observed.shape, reference, homography, reference_step)
    reduced = block_mean(crop, reference_step)
    # A block mean is itself a blur of variance (n^2 - 1) / 12; the Gaussian makes up the rest.
    spread = np.hypot(BLUR_PX, np.sqrt(1 / 12)) * per_working_px / reference_step
    spline = scipy.ndimage.spline_filter(
        scipy.ndimage.gaussian_filter(reduced, spread, mode="nearest", truncate=3.5),
        order=3,
        output=np.float32,
    )
    to_full = block_to_full(reference_step)
    to_full[:2, 2] += origin
    working = block_mean(observed, step)
    return Level(
        observed=scipy.ndimage.gaussian_filter(working, BLUR_PX, mode="nearest"),
        spline=spline,
        observed_to_full=block_to_full(step),
        reference_to_full=to_full,
        step_px=step,
    )


def grid_centres(level: Level, radius: int) -> FloatArray:
    """Centres of half-overlapping windows over the working frame, as whole pixels (x, y)."""
    axes = []
    for size in level.observed.shape[::-1]:
        first, last = radius + 1, size - radius - 2
        count = max(1, round((last - first) / radius) + 1) if last >= first else 0
        axes.append(
            np.round(np.linspace(first, last, count)) if count > 1 else np.full(count, size // 2)
        )
    x, y = np.meshgrid(*axes)
    return np.stack([x.ravel(), y.ravel()], axis=-1)


def usable_centres(
    level: Level, homography: FloatArray, centres: FloatArray, radius: int
) -> FloatArray:
    """Those windows (working pixels) that lie within the frame and, mapped, in the reference.

    Parameters
    ----------
    level : Level
    homography : ndarray of shape (3, 3)
        Observed pixel (x, y, 1) to reference pixel.
    centres : ndarray of shape (windows, 2)
        In working pixels (x, y).
    radius : int
        Half the side of a window, in working pixels.
    """
    corners = np.array([[-1, -1], [-1, 1], [1, -1], [1, 1]]) * (radius + 1.0)
    points = centres[:, None, :] + corners
    return centres[np.all(_in_both(level, homography, points), axis=1)]


def points_in_sight(level: Level, homography: FloatArray, across: int) -> FloatArray:
    """Those of an even grid over the frame (working pixels), rim to rim, that show the reference.

    Parameters
    ----------
    level : Level
    homography : ndarray of shape (3, 3)
        Observed pixel (x, y, 1) to reference pixel.
    across : int
        Points along each side of the frame.
    """
    height, width = level.observed.shape
    x, y = np.meshgrid(np.linspace(0, width - 1, across), np.linspace(0, height - 1, across))
    points = np.stack([x.ravel(), y.ravel()], axis=-1)
    return points[_in_both(level, homography, points)]


def _in_both(level: Level, homography: FloatArray, points: FloatArray) -> BoolArray:
    """Whether points (..., 2) in working pixels lie within the frame and within the reference."""
    size = np.array(level.observed.shape[::-1])
    inside = np.all((points >= 0) & (points <= size - 1), axis=-1)
    inner = working_homography(level, homography)
    depth = points @ inner[2, :2] + inner[2, 2]
    same_side = depth * np.sign(inner[2, 2]) > 1e-9
    limit = np.array(level.spline.shape[::-1]) - 1
    with np.errstate(divide="ignore", invalid="ignore"):
        mapped = map_points(inner, points)
        in_reference = np.all((mapped >= 0) & (mapped <= limit), axis=-1)
    return np.asarray(inside & same_side & in_reference)


def window_texture(
    level: Level, homography: FloatArray, centres: FloatArray, radius: int
) -> FloatArray:
    """Mean squared gradient of the reference where each window looks.

    Parameters
    ----------
    level : Level
    homography : ndarray of shape (3, 3)
        Observed pixel (x, y, 1) to reference pixel.
    centres : ndarray of shape (windows, 2)
        In working pixels (x, y).
    radius : int
        Half the side of a window, in working pixels.
    """
    inner = working_homography(level, homography)
    down, across = np.gradient(level.spline)
    side = max(3, int(2 * radius / sampling_ratio(inner, centres.mean(axis=0))))
    energy = scipy.ndimage.uniform_filter(down * down + across * across, side, mode="nearest")
    column, row = np.round(map_points(inner, centres)).astype(int).T
    height, width = energy.shape
    return np.asarray(energy[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)])


def working_homography(level: Level, homography: FloatArray) -> FloatArray:
    """The homography between the pixels of the level."""
    inner = np.linalg.inv(level.reference_to_full) @ homography @ level.observed_to_full
    return np.asarray(inner / np.linalg.norm(inner))


def _footprint(
    shape: tuple[int, ...], reference: FloatArray, homography: FloatArray, step: int
) -> tuple[FloatArray, FloatArray]:
    """The part of the reference that the frame covers, and its origin (x, y)."""
    height, width = shape
    border = np.linspace(0.0, 1.0, 9)
    u, v = np.meshgrid(border * (width - 1), border * (height - 1))
    points = np.stack([u.ravel(), v.ravel()], axis=-1)
    depth = points @ homography[2, :2] + homography[2, 2]
    size = np.array(reference.shape[::-1])
    if np.any(depth * np.sign(depth[len(depth) // 2]) <= 0):
        return reference, np.zeros(2)
    mapped = map_points(homography, points)
    margin = REFERENCE_MARGIN_PX * step
    low = np.clip(np.floor(mapped.min(axis=0)) - margin, 0, size).astype(int)
    high = np.clip(np.ceil(mapped.max(axis=0)) + margin + 1, 0, size).astype(int)
    if np.any(high - low < 2 * step):
        raise InputError("The homography to refine puts the frame outside the reference.")
    return reference[low[1] : high[1], low[0] : high[0]], low.astype(float)
