"""Error diffusion along a serpentine path, four weights, one drop size, 1200 dots/inch.

Greys are black ink alone. Drops are larger than their pitch, and light spreads within the paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer, grey_and_colours, inked_box

DOTS_PER_INCH = 1200
GRID_PER_DOT = 4
DROP_MM, DROP_SD_MM = 0.034, 0.0028
SPREAD_MM = 0.013
LAYER = 0.2
"""Transmittance of one ink layer, in the channel that it is there for; light passes it twice."""
SIDE = ((LAYER, 0.96, 0.99), (0.97, LAYER, 0.95), (0.995, 0.98, LAYER), (LAYER, LAYER, LAYER))
PER_MM = DOTS_PER_INCH * GRID_PER_DOT / MM_PER_INCH


def diffuse(amount: Floats) -> np.ndarray:
    """Dots (0 or 1) of ink amounts (0 to 1); blank paper takes no error, so it stays blank."""
    height, width = amount.shape
    dots = np.zeros((height, width), np.uint8)
    below = [0.0] * (width + 2)
    for y in range(height):
        current, below = below, [0.0] * (width + 2)
        inked = np.flatnonzero(amount[y])
        if not inked.size:
            continue
        row, line, ahead = amount[y].tolist(), bytearray(width), 0.0
        step = 1 if y % 2 == 0 else -1
        first, last = int(inked[0]), int(inked[-1])
        for x in range(first, last + 1) if step == 1 else range(last, first - 1, -1):
            asked = row[x]
            if asked == 0.0:
                ahead = 0.0
                continue
            error = asked + current[x + 1] + ahead
            if error >= 0.5:
                line[x] = 1
                error -= 1.0
            ahead = error * 0.4375
            below[x + 1 - step] += error * 0.1875
            below[x + 1] += error * 0.3125
            below[x + 1 + step] += error * 0.0625
        dots[y] = np.frombuffer(line, np.uint8)
    return dots


def covered(dots: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Put round drops, slightly misplaced, on the fine grid; coverage in 255ths."""
    height, width = dots.shape
    fine = np.zeros((height * GRID_PER_DOT, width * GRID_PER_DOT), np.uint8)
    y, x = np.nonzero(dots)
    off = np.rint(rng.normal(GRID_PER_DOT // 2, DROP_SD_MM * PER_MM, (2, y.size))).astype(int)
    off = np.clip(off, 0, GRID_PER_DOT - 1)
    fine[y * GRID_PER_DOT + off[0], x * GRID_PER_DOT + off[1]] = 255
    radius = DROP_MM * PER_MM / 2
    reach = int(np.ceil(radius))
    away = np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1])
    return cv2.filter2D(fine, -1, np.clip(radius - away + 0.5, 0, 1).astype(np.float32))


def reflected(transmitted: Floats) -> Floats:
    """Light that enters through the ink, spreads in the paper and leaves through the ink again."""
    return transmitted * cv2.GaussianBlur(transmitted, (0, 0), SPREAD_MM * PER_MM)


@cache
def tone_curve() -> tuple[Floats, Floats]:
    """Reflectances of flat fields, rising, and the amounts that they were made of."""
    amounts = np.array([1, 0.85, 0.7, 0.55, 0.42, 0.32, 0.24, 0.17, 0.11, 0.06, 0.03, 0.012, 0])
    means = []
    for amount in amounts:
        ink = covered(diffuse(np.full((72, 96), amount)), np.random.default_rng(1))
        means.append(
            reflected(1 - (1 - LAYER) / 255 * ink.astype(np.float32))[60:-60, 60:-60].mean()
        )
    return np.array(means), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance of a raster whose pixels are whole dots wide."""
    repeat = DOTS_PER_INCH // DRIVER.raster_ppi
    grey, colours = grey_and_colours(raster)
    layers = []
    for ink, wanted in enumerate((colours[..., 0], colours[..., 1], colours[..., 2], grey)):
        amount = np.interp(wanted, *tone_curve())
        amount[wanted > 0.995] = 0.0
        dots = diffuse(amount.repeat(repeat, axis=0).repeat(repeat, axis=1))
        box = inked_box(dots)
        part = tuple(slice(s.start * GRID_PER_DOT, s.stop * GRID_PER_DOT) for s in box)
        if dots[box].size:
            layers.append((part, covered(dots[box], np.random.default_rng([seed, ink])), SIDE[ink]))
    size = tuple(n * repeat * GRID_PER_DOT for n in raster.shape[:2])
    for channel in range(3):
        transmitted = np.ones(size, np.float32)
        for part, ink_cover, through in layers:
            table = np.linspace(1, through[channel], 256, dtype=np.float32)
            place = transmitted[part]
            place *= cv2.LUT(ink_cover, table)
        yield reflected(transmitted)


DRIVER = Driver(600, "area")
MODEL = Printer("diffusion_1200", DRIVER, render, PER_MM, (0.89, 0.89, 0.87), 0.004)
