"""Error diffusion over twelve neighbours with noise on its threshold, 720 x 1440, two drop sizes.

Greys are black ink alone. Rows are worked off along a slanted front, as every dot needs only dots
above it and to its left.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer, grey_and_colours, inked_box

ACROSS, DOWN = 8, 4
"""Grid pixels between neighbouring dots: 720 dots/inch along x, 1440 along y."""
PER_MM = 1440 * DOWN / MM_PER_INCH
SMALL_MM, LARGE_MM = 0.030, 0.046
WEIGHTS = ((7, 5), (3, 5, 7, 5, 3), (1, 3, 5, 3, 1))
"""Forty-eighths: ahead in the row, and two rows below, from two to the left to two to the right."""
NOISE = 0.22
INKS = np.array([[0.05, 0.86, 0.95], [0.9, 0.045, 0.82], [0.97, 0.93, 0.05], [0.035, 0.035, 0.035]])
"""Reflectance through a solid layer, inks C, M, Y, K by channel."""
OPTICAL_MM = 0.011


def diffuse(amount: Floats, rng: np.random.Generator) -> np.ndarray:
    """Drops 0 (none), 1 (small) and 2 (large) of amounts, shape (inks, rows, columns)."""
    inks, height, width = amount.shape
    times = width + 3 * (height - 1)
    y, x = np.mgrid[:height, :width]
    wanted = np.zeros((times, inks, height), np.float32)
    wanted[x + 3 * y, :, y] = amount.transpose(1, 2, 0)
    noise = rng.normal(0, NOISE / 2, wanted.shape).astype(np.float32)
    error = np.zeros((times + 8, inks, height + 2), np.float32)
    drops = np.zeros(wanted.shape, np.uint8)
    for t in range(times):
        asked = wanted[t]
        now = t + 8
        value = asked + 7 / 48 * error[now - 1, :, 2:] + 5 / 48 * error[now - 2, :, 2:]
        for k in range(5):
            value += WEIGHTS[1][4 - k] / 48 * error[now - 5 + k, :, 1:-1]
            value += WEIGHTS[2][4 - k] / 48 * error[now - 8 + k, :, :-2]
        drop = np.clip(np.rint(2 * (value + noise[t] / 2)), 0, 2)
        inked = asked > 0
        drops[t] = drop * inked
        error[now, :, 2:] = (value - drop / 2) * inked
    return drops[x + 3 * y, :, y].transpose(2, 0, 1)


def spot(diameter_mm: float) -> Floats:
    """A drop on the fine grid: flat, with a border half a pixel soft."""
    half = int(np.ceil(diameter_mm * PER_MM / 2))
    y, x = np.ogrid[-half : half + 1, -half : half + 1]
    return np.clip(diameter_mm * PER_MM / 2 + 0.5 - np.sqrt(x**2 + y**2), 0, 1).astype(np.float32)


def inked(drops: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Share of every grid pixel that ink covers, in 255ths; rows of nozzles sit a little off."""
    height, width = drops.shape
    cover = np.zeros((height * DOWN, width * ACROSS), np.uint8)
    off = np.clip(np.rint(rng.normal(ACROSS / 2, 0.8, height)), 0, ACROSS - 1).astype(int)
    for size, diameter in ((1, SMALL_MM), (2, LARGE_MM)):
        points = np.zeros_like(cover)
        y, x = np.nonzero(drops == size)
        points[y * DOWN + rng.integers(1, 3, y.size), x * ACROSS + off[y]] = 255
        cover = cv2.add(cover, cv2.filter2D(points, -1, spot(diameter)))
    return cover


@cache
def amount_curve() -> tuple[Floats, Floats]:
    """Reflectance of even fields of one ink (rising) against amount."""
    amounts = np.array([1, 0.8, 0.65, 0.5, 0.4, 0.3, 0.22, 0.15, 0.09, 0.05, 0.02, 0.0])
    rng = np.random.default_rng(3)
    fields = diffuse(np.broadcast_to(amounts[:, None, None], (len(amounts), 96, 64)), rng)
    covers = [inked(field, rng)[80:-40, 80:-80] / 255 for field in fields]
    return np.array([1 - 0.955 * cover.mean() for cover in covers]), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance: ink by ink over the paper, then the paper's spread of light."""
    rng = np.random.default_rng([seed, 14])
    grey, colours = grey_and_colours(raster)
    wanted = np.stack([*np.moveaxis(colours, -1, 0), grey])
    amounts = np.interp(wanted, *amount_curve())
    amounts[wanted > 0.99] = 0
    rows = (np.arange(raster.shape[0] * 1440 // DRIVER.raster_ppi) * DRIVER.raster_ppi) // 1440
    columns = (np.arange(raster.shape[1] * 720 // DRIVER.raster_ppi) * DRIVER.raster_ppi) // 720
    drops = diffuse(amounts[:, rows][:, :, columns], rng)
    boxes = [inked_box(d) for d in drops]
    covers = [inked(d[box], rng) if d.any() else None for d, box in zip(drops, boxes, strict=True)]
    for channel in range(3):
        light = np.ones((len(rows) * DOWN, len(columns) * ACROSS), np.float32)
        for through, cover, (y, x) in zip(INKS[:, channel], covers, boxes, strict=True):
            if cover is not None:
                place = light[y.start * DOWN : y.stop * DOWN, x.start * ACROSS : x.stop * ACROSS]
                place *= cv2.LUT(cover, np.linspace(1, through, 256, dtype=np.float32))
        yield cv2.GaussianBlur(light, (0, 0), OPTICAL_MM * PER_MM)


DRIVER = Driver(360, "bicubic")
MODEL = Printer("diffusion_720x1440", DRIVER, render, PER_MM, (0.86, 0.87, 0.88), 0.003)
