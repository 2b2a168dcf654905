"""A line printer whose passes show: ordered dots, swaths that do not quite meet, two-way printing.

Every nozzle prints one row of each swath. Nozzles are off by micrometres and differ in drop size,
the paper feed is off at each swath, and every second swath is printed on the way back.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer, grey_and_colours, inked_box

GRID = 6
PER_MM = 720 * GRID / MM_PER_INCH
NOZZLES = 96
FEED_SD_MM, BACK_MM = 0.009, 0.018
NOZZLE_SD_MM, AIM_SD_MM = 0.003, 0.002
SIZES_MM = (0.039, 0.044, 0.049)
"""Drops of weak, usual and strong nozzles."""
PASSED = ((0.23, 0.95, 0.98), (0.96, 0.23, 0.94), (0.99, 0.97, 0.23), (0.2, 0.2, 0.2))
SOFT_MM = 0.012


def ordered(depth: int) -> Floats:
    """Dispersed order of 2^depth rows and columns, thresholds from 0 to 1."""
    table = np.zeros((1, 1))
    for _ in range(depth):
        table = np.block([[4 * table, 4 * table + 2], [4 * table + 3, 4 * table + 1]])
    return (table + 0.5) / table.size


def dots(amount: Floats, ink: int) -> np.ndarray:
    """Where there is a dot; the table is moved on for each ink and fifteen times finer in tone."""
    table = np.roll(ordered(3), (3 * ink, 5 * ink), axis=(0, 1))
    finer = np.kron(ordered(2), np.ones(table.shape)) / table.size
    threshold = np.tile(table, (4, 4)) - 0.5 / table.size + finer
    times = [-(-n // threshold.shape[0]) for n in amount.shape]
    return amount > np.tile(threshold, times)[: amount.shape[0], : amount.shape[1]]


def fired(placed: np.ndarray, first_row: int, seed: int, ink: int) -> np.ndarray:
    """Ink on the grid, 255ths, of rows printed by the nozzles of one ink."""
    rng = np.random.default_rng([seed, ink])
    rows = first_row + np.arange(placed.shape[0])
    nozzle, swath = rows % NOZZLES, rows // NOZZLES
    aim = rng.normal(0, NOZZLE_SD_MM, (2, NOZZLES))
    size = rng.choice(3, NOZZLES, p=(0.15, 0.7, 0.15))
    # the sheet moves under all inks at once
    feed = np.random.default_rng([seed, 99]).normal(0, FEED_SD_MM, 64)
    down_mm = aim[0, nozzle] + feed[swath % 64]
    across_mm = aim[1, nozzle] + np.where(swath % 2, BACK_MM, 0)
    cover = np.zeros(np.multiply(placed.shape, GRID), np.uint8)
    y, x = np.nonzero(placed)
    scatter = rng.normal(0, AIM_SD_MM, (2, y.size))
    down = np.rint((y + 0.5) * GRID + (down_mm[y] + scatter[0]) * PER_MM).astype(int)
    across = np.rint((x + 0.5) * GRID + (across_mm[y] + scatter[1]) * PER_MM).astype(int)
    inside = (down >= 0) & (down < cover.shape[0]) & (across >= 0) & (across < cover.shape[1])
    for kind, diameter_mm in enumerate(SIZES_MM):
        points = np.zeros_like(cover)
        here = inside & (size[nozzle[y]] == kind)
        points[down[here], across[here]] = 255
        shape = np.zeros((13, 13), np.uint8)
        cv2.circle(shape, (96, 96), round(diameter_mm / 2 * PER_MM * 16), 255, -1, cv2.LINE_AA, 4)
        cover |= cv2.filter2D(points, -1, shape.astype(np.float32) / 255)
    return cover


def through_ink(light: Floats) -> Floats:
    """Reflectance of paper under a film of ink."""
    return light * cv2.GaussianBlur(light, (0, 0), SOFT_MM * PER_MM)


@cache
def scale() -> tuple[Floats, Floats]:
    """Reflectance (rising) of flat fields against amount."""
    amounts = np.linspace(1, 0, 33) ** 1.5
    means = []
    for amount in amounts:
        cover = fired(dots(np.full((160, 64), amount), 3), 0, 1, 3)
        light = cv2.LUT(cover, np.linspace(1, 0.2, 256, dtype=np.float32))
        means.append(through_ink(light)[48:-48, 48:-48].mean())
    return np.maximum.accumulate(means), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance; the raster is that of the dots."""
    grey, colours = grey_and_colours(raster)
    layers = []
    for ink, wanted in enumerate((*np.moveaxis(colours, -1, 0), grey)):
        placed = dots(np.interp(wanted, *scale()) * (wanted < 0.995), ink)
        rows, columns = inked_box(placed)
        if rows.stop:
            place = tuple(slice(s.start * GRID, s.stop * GRID) for s in (rows, columns))
            layers.append((place, fired(placed[rows, columns], rows.start, seed, ink), PASSED[ink]))
    for channel in range(3):
        light = np.ones((raster.shape[0] * GRID, raster.shape[1] * GRID), np.float32)
        for place, cover, passed in layers:
            part = light[place]
            part *= cv2.LUT(cover, np.linspace(1, passed[channel], 256, dtype=np.float32))
        yield through_ink(light)


MODEL = Printer("swath_passes", Driver(720, "nearest"), render, PER_MM, (0.87, 0.86, 0.84), 0.004)
