"""The same millimetres of photographed patches on one grid, in linear light.

For what an eye makes of a print, and for looking at: detail is measured on the capture's own
pixels.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from dotloupe.registration.averaging import LEAST_PER_MM
from dotloupe.registration.homography import local_scale, map_points

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray, IntArray
    from dotloupe.capture import Capture, Lighting

FULL_SCALE = 1.6
"""Largest reflectance relative to the paper that is carried: glints count no more."""

STRIP_MM = 2.0
MARGIN_PX = 4
FINER = 3
"""Samples of the capture to a pixel of a coarse grid, each way, averaged by area at least."""
FOLDED_BEYOND_DETAIL = 1.25
"""Pixels of the capture to one of a grid that carries all detail, each way, at most: what is finer
than the grid then folds to 3/8 of its frequency and more, where no print has detail."""
LEAST_OF_BLOCK = 2
"""Pixels, each way and evenly spread, that the mean of a block is taken from at least."""

Box = tuple[float, float, float, float]
"""Left, top, right and bottom in mm of the patch."""


SMALL_PER_MM = 10.0
"""Grid of the small picture: its Nyquist frequency is 22 cycles per degree from 250 mm, where the
eye's blur leaves little (spatial CIELAB passes under 3 %)."""


@dataclass(frozen=True)
class SmallPicture:
    """A whole patch as an eye sees it, small enough to be kept with its numbers.

    Attributes
    ----------
    reflectance : ndarray, shape (rows, columns, 3), float16
        Linear, relative to the paper.
    pixels_per_mm : float
    """

    reflectance: NDArray[np.float16]
    pixels_per_mm: float


def small_picture(
    capture: Capture, homography: FloatArray, lighting: Lighting, size_mm: tuple[float, float]
) -> SmallPicture:
    """Keep a photographed patch of this size on the grid of `SMALL_PER_MM`.

    Parameters
    ----------
    capture : Capture
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    lighting : Lighting
        Fall of the light over this capture.
    size_mm : pair of float
        Width and height of the patch.
    """
    light = patch_picture(
        capture, homography, lighting, box_mm=(0.0, 0.0, *size_mm), pixels_per_mm=SMALL_PER_MM
    )
    return SmallPicture(light.astype(np.float16), SMALL_PER_MM)


def patch_picture(
    capture: Capture,
    homography: FloatArray,
    lighting: Lighting | None,
    *,
    box_mm: Box,
    pixels_per_mm: float,
) -> FloatArray:
    """Bring a rectangle of the patch onto a grid, averaged by area, the fall of the light out.

    Parameters
    ----------
    capture : Capture
    homography : ndarray, shape (3, 3)
        Capture pixel to patch mm.
    lighting : Lighting or None
        Of this capture; None where the fall of the light is not known.
    box_mm : (left, top, right, bottom)
        In mm of the patch. What lies outside the photograph is 0.
    pixels_per_mm : float
        Of the grid.

    Returns
    -------
    ndarray, shape (rows, columns, 3), float32
        Linear reflectance relative to the paper.
    """
    return np.concatenate(
        [
            _strip(capture, homography, lighting, corner, size, pixels_per_mm)
            for corner, size in _strips(box_mm, pixels_per_mm)
        ]
    )


def _strips(
    box_mm: Box, pixels_per_mm: float
) -> Iterator[tuple[tuple[float, float], tuple[int, int]]]:
    """Top left corner in mm, and columns and rows, of each strip."""
    left, top, right, bottom = box_mm
    columns = max(1, round((right - left) * pixels_per_mm))
    rows = max(1, round((bottom - top) * pixels_per_mm))
    strip = max(1, round(STRIP_MM * pixels_per_mm))
    for first in range(0, rows, strip):
        yield (left, top + first / pixels_per_mm), (columns, min(strip, rows - first))


def _strip(
    capture: Capture,
    homography: FloatArray,
    lighting: Lighting | None,
    corner_mm: tuple[float, float],
    size: tuple[int, int],
    pixels_per_mm: float,
) -> FloatArray:
    import cv2

    columns, rows = size
    to_capture = np.linalg.inv(homography)
    middle = np.array(corner_mm) + np.array(size) / 2 / pixels_per_mm
    scale = local_scale(to_capture, middle)
    carries_all = pixels_per_mm >= LEAST_PER_MM
    step, thin, finer = _sampling(scale / pixels_per_mm, carries_all=carries_all)
    pixel_mm = 1 / (pixels_per_mm * finer)
    to_mm = np.array(
        [
            [pixel_mm, 0, corner_mm[0] + pixel_mm / 2],
            [0, pixel_mm, corner_mm[1] + pixel_mm / 2],
            [0, 0, 1.0],
        ]
    )
    grid = (columns * finer, rows * finer)
    low, blocks = _around(capture, map_points(to_capture @ to_mm, _corners(grid)), step)
    if blocks.min() <= 0:
        return np.zeros((rows, columns, 3), np.float32)
    light = _blocks(capture, lighting, low, blocks, step, thin)
    first_x, first_y = low + _middle_of_block(step, thin)
    to_frame = np.array([[step, 0, first_x], [0, step, first_y], [0, 0, 1.0]])
    back = np.linalg.inv(to_frame) @ to_capture @ to_mm
    if carries_all:
        fine = _between_pixels(light, back, grid)
    else:
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        fine = np.asarray(cv2.warpPerspective(light, back, grid, flags=flags), dtype=np.float32)
    return np.asarray(cv2.resize(fine, size, interpolation=cv2.INTER_AREA))


def _between_pixels(light: FloatArray, back: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Light at the points of a grid by cubic interpolation, 0 outside of the photograph.

    Parameters
    ----------
    light : ndarray of shape (rows, columns, 3)
    back : ndarray of shape (3, 3)
        Point (x, y, 1) of the grid to pixel of `light`.
    size : (columns, rows)
        Of the grid.
    """
    import cv2

    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    # beyond the border black would swing into the picture
    found: FloatArray = np.asarray(
        cv2.warpPerspective(light, back, size, flags=flags, borderMode=cv2.BORDER_REPLICATE),
        dtype=np.float32,
    )
    within = np.ones(light.shape[:2], np.uint8)
    flags = cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    found[cv2.warpPerspective(within, back, size, flags=flags) == 0] = 0
    return np.clip(found, 0, FULL_SCALE, out=found)


def _sampling(ratio: float, *, carries_all: bool) -> tuple[int, int, int]:
    """Side of the blocks averaged, its pixels to one taken, and samples to a pixel of the grid.

    Parameters
    ----------
    ratio : float
        Pixels of the capture to one of the grid, each way.
    carries_all : bool
        The grid carries all detail that is printed, so that samples as fine as its own do.
    """
    if carries_all:
        step = max(1, int(ratio))
        return step, 1, max(1, ceil(ratio / step / FOLDED_BEYOND_DETAIL))
    step = max(1, int(ratio / FINER))
    thin = max(1, step // LEAST_OF_BLOCK)
    step -= step % thin
    return step, thin, max(1, ceil(0.9 * ratio / step))


def _corners(size: tuple[int, int]) -> FloatArray:
    columns, rows = size
    return np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=float)


def _around(capture: Capture, points: FloatArray, step: int) -> tuple[IntArray, IntArray]:
    """First pixel (x, y) and number of whole blocks that hold the points, within the frame."""
    frame = np.array(capture.shape[::-1])
    margin = MARGIN_PX * step
    low = np.clip(np.floor(points.min(axis=0)).astype(int) - margin, 0, frame)
    high = np.clip(np.ceil(points.max(axis=0)).astype(int) + margin + 1, 0, frame)
    return low, (high - low) // step


def _middle_of_block(step: int, thin: int) -> float:
    """Mean place, in pixels from the block's first, of the pixels that its mean is taken from."""
    return thin // 2 + (step - thin) / 2


def _blocks(
    capture: Capture,
    lighting: Lighting | None,
    low: IntArray,
    blocks: IntArray,
    step: int,
    thin: int,
) -> FloatArray:
    """Mean reflectance over blocks of pixels from `low` on, the fall of the light out.

    Of each block every `thin`-th pixel is taken, each way.
    """
    import cv2

    first, end = low + thin // 2, low + blocks * step
    rows, columns = (slice(first[axis], end[axis], thin) for axis in (1, 0))
    light = capture.region(rows, columns, most=FULL_SCALE)
    if step > 1:
        size = (int(blocks[0]), int(blocks[1]))
        light = np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA))
    if lighting is not None:
        middle = _middle_of_block(step, thin)
        x, y = (o + np.arange(n) * step + middle for o, n in zip(low, blocks, strict=True))
        light /= lighting.over_grid(x, y)
    return light
