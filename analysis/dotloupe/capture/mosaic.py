"""From a colour mosaic to three channels, without blur in what a print holds.

Every interpolation is linear, so the picture keeps one transfer function whatever it shows, which
an edge-following demosaic does not. The mosaic is first balanced on the paper. For the neutral
detail that a patch is made of, all its pixels then sample one and the same picture, and green
between its own places is filled in by

    G = mean of the 4 neighbours + 1/4 (C - mean of the 4 pixels of C's colour two away),

whose transfer at w = 2 pi f (f in cycles/pixel, along x) is (1 + cos w) / 2 + sin(w)^2 / 4
= 1 - w^4 / 16 + ...: flat to the fourth order, where plain bilinear interpolation loses w^2 / 4
(derived). Red and blue follow as differences from green, interpolated bilinearly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray

STRIP_ROWS = 512
MARGIN_ROWS = 4
PEDESTAL = 1024
"""Level of no light in the result, so that noise below black is kept and not folded."""
FULL = 65535
BLOCKS_ALONG = 16
LEAST_UNLIKE = 0.04
"""Of the mean; red or blue of white paper is often half of green (common practice, no source)."""
MOSAIC_SHARE = 0.75
"""Share of a frame's blocks in which the places are apart."""
RED, GREEN, BLUE = range(3)
_DIFFERENCE_WEIGHTS = np.array([0.5, 1.0, 0.5], dtype=np.float32)


@dataclass(frozen=True)
class Mosaic:
    """One exposure as the sensor gives it.

    Attributes
    ----------
    counts : ndarray of shape (rows, columns), uint16
    bands : ndarray of shape (2, 2), int
        Band (0 red, 1 green, 2 blue) of each place of the cell.
    black : ndarray of shape (2, 2)
        Counts without light at each place of the cell.
    white : float
        Counts at which a pixel is full.
    """

    counts: NDArray[np.uint16]
    bands: NDArray[np.integer[Any]]
    black: FloatArray
    white: float


def pedestal_curve() -> FloatArray:
    """Linear light of every level of `demosaic`'s result, shape (65536,), 1 where it is full."""
    return ((np.arange(FULL + 1) - PEDESTAL) / (FULL - PEDESTAL)).astype(np.float32)


def levels_of(counts: NDArray[np.uint16], black: float, white: float) -> NDArray[np.uint16]:
    """Levels of `pedestal_curve` for counts that need no interpolation."""
    share = (np.arange(FULL + 1) - black) / (white - black)
    table = np.clip(np.round(share * (FULL - PEDESTAL) + PEDESTAL), 0, FULL)
    return table.astype(np.uint16)[counts]


def looks_like_mosaic(counts: NDArray[np.unsignedinteger[Any]]) -> bool:
    """Whether grey pixels are those of a colour mosaic of two by two.

    The means of its places then differ, and in one order all over the frame; in a grey picture
    they are alike.

    Parameters
    ----------
    counts : ndarray of shape (rows, columns)
    """
    side = min(counts.shape) // BLOCKS_ALONG // 2 * 2
    if side < 2:
        return False
    rows, columns = (n // side for n in counts.shape)
    blocks = counts[: rows * side, : columns * side].reshape(rows, side // 2, 2, columns, -1, 2)
    places = blocks.mean(axis=(1, 4)).transpose(1, 3, 0, 2).reshape(4, -1)
    high, low = np.argmax(places.mean(axis=1)), np.argmin(places.mean(axis=1))
    apart = places[high] - places[low] > LEAST_UNLIKE * places.mean(axis=0)
    return bool(np.mean(apart) > MOSAIC_SHARE)


def demosaic(mosaic: Mosaic, paper: FloatArray) -> NDArray[np.uint16]:
    """Interpolate a mosaic to three channels of the camera's own colour.

    Parameters
    ----------
    mosaic : Mosaic
    paper : ndarray of shape (3,)
        Light of the paper in each band, as a share of full: the balance to interpolate in.

    Returns
    -------
    ndarray of shape (rows, columns, 3), uint16
        Levels of `pedestal_curve`. A pixel's own band is its own count, not altered; full
        pixels are at 65535.
    """
    rows, columns = mosaic.counts.shape
    pixels = np.empty((rows, columns, 3), dtype=np.uint16)
    for top in range(0, rows, STRIP_ROWS):
        first, last = max(top - MARGIN_ROWS, 0), min(top + STRIP_ROWS + MARGIN_ROWS, rows)
        strip = _strip(mosaic, slice(first, last), paper)
        bottom = min(top + STRIP_ROWS, rows)
        pixels[top:bottom] = strip[top - first : bottom - first]
    return pixels


def mosaic_paper(mosaic: Mosaic, step: int) -> FloatArray:
    """Thinned picture of the mosaic's cells as shares of full, shape (rows, columns, 3)."""
    cells = []
    for band in range(3):
        row, column = np.argwhere(mosaic.bands == band)[0]
        counts = mosaic.counts[row :: 2 * step, column :: 2 * step]
        black = mosaic.black[row, column]
        cells.append((counts.astype(np.float32) - black) / (mosaic.white - black))
    height, width = (min(c.shape[axis] for c in cells) for axis in (0, 1))
    return np.stack([c[:height, :width] for c in cells], axis=-1)


def _strip(mosaic: Mosaic, rows: slice, paper: FloatArray) -> NDArray[np.uint16]:
    """Three channels of a strip that starts at an even row."""
    import cv2

    neutral = mosaic.counts[rows].astype(np.float32)
    for place in np.ndindex(2, 2):
        black = float(mosaic.black[place])
        span = (mosaic.white - black) * float(paper[mosaic.bands[place]])
        sites = neutral[place[0] :: 2, place[1] :: 2]
        sites -= np.float32(black)
        sites *= np.float32(1 / span)
    green = neutral.copy()
    cv2.filter2D(neutral, -1, _GREEN_KERNEL, dst=green, borderType=cv2.BORDER_REFLECT_101)
    for row, column in np.argwhere(mosaic.bands == GREEN):
        green[row::2, column::2] = neutral[row::2, column::2]
    result = np.empty((*neutral.shape, 3), dtype=np.uint16)
    result[..., GREEN] = _levels(green, float(paper[GREEN]))
    for band in (RED, BLUE):
        row, column = np.argwhere(mosaic.bands == band)[0]
        difference = np.zeros_like(neutral)
        difference[row::2, column::2] = neutral[row::2, column::2] - green[row::2, column::2]
        spread = cv2.sepFilter2D(
            difference,
            -1,
            _DIFFERENCE_WEIGHTS,
            _DIFFERENCE_WEIGHTS,
            borderType=cv2.BORDER_REFLECT_101,
        )
        result[..., band] = _levels(green + spread, float(paper[band]))
    return result


def _levels(balanced: FloatArray, paper: float) -> FloatArray:
    scaled = balanced * np.float32(paper * (FULL - PEDESTAL)) + np.float32(PEDESTAL + 0.5)
    return np.clip(scaled, 0, FULL)


def _green_kernel() -> FloatArray:
    kernel = np.zeros((5, 5), dtype=np.float32)
    kernel[2, 2] = 1 / 4
    for along in (-1, 1):
        kernel[2 + along, 2] = kernel[2, 2 + along] = 1 / 4
        kernel[2 + 2 * along, 2] = kernel[2, 2 + 2 * along] = -1 / 16
    return kernel


_GREEN_KERNEL = _green_kernel()
