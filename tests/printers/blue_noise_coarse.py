"""Blue noise on a coarse raster: 360 x 720 dots/inch, one drop size, greys of three inks.

Each ink has a mask of its own, filled dot by dot where the dots so far leave the widest gap.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer

WIDE, HIGH = 12, 6
PER_MM = 720 * HIGH / MM_PER_INCH
ROWS, COLUMNS = 64, 48
DROP_MM = 0.092
SCATTER_MM = 0.005
BLUR_MM = 0.02
THROUGH = np.array([[0.05, 0.93, 0.98], [0.95, 0.05, 0.92], [0.99, 0.96, 0.05]])


@cache
def order(ink: int) -> Floats:
    """Thresholds of one ink: the order in which the largest gap is filled, from 0 to 1."""
    rng = np.random.default_rng(900 + ink)
    down = np.minimum(np.arange(ROWS), ROWS - np.arange(ROWS)) / 2.0
    along = np.minimum(np.arange(COLUMNS), COLUMNS - np.arange(COLUMNS))
    near = np.exp(-(down[:, None] ** 2 + along[None] ** 2) / (2 * 1.3**2))
    wide = np.exp(-(down[:, None] ** 2 + along[None] ** 2) / (2 * 3.5**2))
    pull = np.tile(near + 0.15 * wide, (2, 2))
    crowd = 1e-3 * rng.random((ROWS, COLUMNS))
    rank = np.empty((ROWS, COLUMNS))
    for n in range(ROWS * COLUMNS):
        y, x = np.unravel_index(np.argmin(crowd), crowd.shape)
        rank[y, x] = n
        crowd += pull[ROWS - y : 2 * ROWS - y, COLUMNS - x : 2 * COLUMNS - x]
        crowd[y, x] = np.inf
    return (rank + 0.5) / (ROWS * COLUMNS)


def dots(amount: Floats, ink: int) -> np.ndarray:
    """Where there is a dot."""
    times = (-(-amount.shape[0] // ROWS), -(-amount.shape[1] // COLUMNS))
    return amount > np.tile(order(ink), times)[: amount.shape[0], : amount.shape[1]]


def cover(placed: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Ink on the grid in 255ths; a drop is twice as dense as it needs to be at its middle."""
    canvas = np.zeros((placed.shape[0] * HIGH, placed.shape[1] * WIDE), np.uint8)
    at = np.argwhere(placed) * (HIGH, WIDE) + (HIGH // 2, WIDE // 2)
    at = at + np.rint(rng.normal(0, SCATTER_MM * PER_MM, at.shape)).astype(int)
    at = np.clip(at, 0, np.array(canvas.shape) - 1)
    canvas[at[:, 0], at[:, 1]] = 255
    radius = DROP_MM / 2 * PER_MM
    lines = np.arange(-int(radius) - 1, int(radius) + 2)
    profile = 1.6 * (1 - (lines[:, None] ** 2 + lines[None] ** 2) / radius**2)
    return cv2.filter2D(canvas, -1, np.clip(profile, 0, 1).astype(np.float32))


@cache
def inverse() -> tuple[Floats, Floats]:
    """Reflectance in an ink's own channel (rising) against amount."""
    amounts = np.linspace(1, 0, 25) ** 1.5
    rng = np.random.default_rng(2)
    fields = [cover(dots(np.full((128, 96), a), 0), rng)[36:-36, 36:-36] for a in amounts]
    return np.maximum.accumulate([1 - 0.95 * f.mean() / 255 for f in fields]), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance."""
    rng = np.random.default_rng([seed, 360])
    # what the other two inks take of each channel is given back before the dots are chosen
    log = np.log(np.maximum(raster, 0.03))
    share = np.log(THROUGH) / np.log(np.diag(THROUGH))
    own = np.exp(log @ np.linalg.inv(share)).clip(0, 1)
    covers = []
    for ink in range(3):
        amount = np.interp(own[..., ink], *inverse()) * (raster[..., ink] < 0.995)
        fine = amount.repeat(720 // DRIVER.raster_ppi, axis=0)
        fine = fine if DRIVER.raster_ppi == 360 else fine[:, ::2]
        covers.append(cover(dots(fine, ink), rng))
    for channel in range(3):
        light = np.ones(covers[0].shape, np.float32)
        for through, ink_cover in zip(THROUGH[:, channel], covers, strict=True):
            light *= cv2.LUT(ink_cover, np.linspace(1, through, 256, dtype=np.float32))
        yield cv2.GaussianBlur(light, (0, 0), BLUR_MM * PER_MM)


DRIVER = Driver(360, "nearest")
MODEL = Printer("blue_noise_coarse", DRIVER, render, PER_MM, (0.85, 0.84, 0.8), 0.006)
