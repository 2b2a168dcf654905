"""Continuous tone by dye at 300 dots/inch: no grain, no dots, a heat spot that trails along y."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer

SPOTS_PER_INCH = 300
GRID = 10
PER_MM = SPOTS_PER_INCH * GRID / MM_PER_INCH
SPOT_MM = (0.027, 0.031)
"""Standard deviation of the dye that one spot lays down, along x and y."""
TRAIL_MM = 0.02
"""Length over which the heat of a line dies away in the lines after it."""
TRAIL = 0.18
DENSEST = 1.75
SIDE = np.array([[1.0, 0.16, 0.04], [0.1, 1.0, 0.14], [0.01, 0.07, 1.0]])
"""Density of cyan, magenta, yellow dye by channel; the table of the printer undoes it."""
UNEVEN = 0.004
"""Standard deviation of the heat of the elements of the line, relative."""


def heat(wanted: Floats, elements: Floats) -> Floats:
    """Dye density on the grid of one plane of wanted density, shape (rows, columns)."""
    height, width = wanted.shape
    along = cv2.resize(
        (wanted * elements[None]).astype(np.float32),
        (width * GRID, height * GRID),
        interpolation=cv2.INTER_NEAREST,
    )
    spread = cv2.GaussianBlur(
        along,
        (0, 0),
        sigmaX=SPOT_MM[0] * PER_MM,
        sigmaY=SPOT_MM[1] * PER_MM,
        borderType=cv2.BORDER_REPLICATE,
    )
    reach = int(5 * TRAIL_MM * PER_MM)
    after = np.zeros(2 * reach + 1, np.float32)
    after[reach:] = np.exp(-np.arange(reach + 1) / (TRAIL_MM * PER_MM))
    trail = cv2.filter2D(spread, -1, (after / after.sum())[::-1, None])
    return (1 - TRAIL) * spread + TRAIL * trail


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance; the raster's pixels are the spots of the line."""
    rng = np.random.default_rng([seed, 300])
    density = -np.log10(np.clip(raster, 10**-DENSEST, 1))
    dyes = np.clip(density @ np.linalg.inv(SIDE), 0, DENSEST)
    elements = rng.normal(1, UNEVEN, (3, raster.shape[1]))
    laid = [heat(dyes[..., dye], elements[dye]) for dye in range(3)]
    for channel in range(3):
        total = sum(laid[dye] * np.float32(SIDE[dye, channel]) for dye in range(3))
        yield np.power(np.float32(10), -total)


MODEL = Printer("dye_300", Driver(300, "bicubic"), render, PER_MM, (0.88, 0.88, 0.9), 0.0015)
