"""Clustered dots at 150 lines/inch, 2400 dots/inch, screens turned ink by ink, black for greys.

A cosine spot function is compared with the tone; toner lies rough-edged and melts a little.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer

LINES_PER_INCH = 150
DOTS_PER_INCH = 2400
FINE = 2
PER_MM = DOTS_PER_INCH * FINE / MM_PER_INCH
ANGLES_DEG = (15.0, 75.0, 0.0, 45.0)
ROUGH = 0.16
MELT_MM = 0.006
SPREAD_MM = 0.018
TONERS = ((0.22, 0.95, 0.98), (0.96, 0.22, 0.93), (0.99, 0.97, 0.22), (0.19, 0.19, 0.19))


def spot_function(shape: tuple[int, int], angle_deg: float) -> Floats:
    """Cosines of a turned screen, from -1 to 1, at every dot of the engine."""
    y, x = np.ogrid[: shape[0], : shape[1]]
    turn, step = np.deg2rad(angle_deg), 2 * np.pi * LINES_PER_INCH / DOTS_PER_INCH
    u = step * (np.cos(turn) * x + np.sin(turn) * y).astype(np.float32)
    v = step * (np.cos(turn) * y - np.sin(turn) * x).astype(np.float32)
    return (np.cos(u) + np.cos(v)) / 2


@cache
def area_of_threshold() -> tuple[Floats, Floats]:
    """Share of a cell in which the spot function exceeds a threshold, rising."""
    values = np.sort(spot_function((640, 640), 18.43), axis=None)[::-97]
    return np.linspace(0, 1, values.size), values


def toner(amount: Floats, angle_deg: float, rng: np.random.Generator) -> np.ndarray:
    """Toner on the fine grid, in 255ths."""
    spots = spot_function(amount.shape, angle_deg)
    spots += ROUGH * cv2.GaussianBlur(
        rng.standard_normal(amount.shape, dtype=np.float32), (0, 0), 1.2
    )
    areas, values = area_of_threshold()
    height = np.interp(amount, areas, values[::1]).astype(np.float32)
    on = np.where((spots > height) & (amount > 0) | (amount >= 1), np.uint8(255), np.uint8(0))
    fine = on.repeat(FINE, axis=0).repeat(FINE, axis=1)
    return cv2.GaussianBlur(fine, (0, 0), MELT_MM * PER_MM)


def seen(through: Floats) -> Floats:
    """Reflectance where light leaves the paper some way from where it came in."""
    return through * cv2.GaussianBlur(through, (0, 0), SPREAD_MM * PER_MM)


@cache
def tones() -> tuple[Floats, Floats]:
    """Reflectance (rising) of even fields of black against their amount."""
    amounts = np.linspace(1, 0, 26)
    fields = []
    for amount in amounts:
        cover = toner(np.full((256, 256), amount), 45.0, np.random.default_rng(4))
        fields.append(seen(cv2.LUT(cover, np.linspace(1, 0.2, 256, dtype=np.float32))).mean())
    return np.maximum.accumulate(fields), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance."""
    rng = np.random.default_rng([seed, 150])
    grey = raster.max(axis=-1)
    repeat = DOTS_PER_INCH // DRIVER.raster_ppi
    shape = tuple(n * repeat for n in grey.shape)
    layers = []
    for ink in range(4):
        wanted = grey if ink == 3 else raster[..., ink] / np.maximum(grey, 1e-6)
        amount = np.interp(wanted, *tones()) * (wanted < 0.995)
        if amount.any():
            fine = cv2.resize(amount, shape[::-1], interpolation=cv2.INTER_NEAREST)
            layers.append((toner(fine, ANGLES_DEG[ink], rng), TONERS[ink]))
    for channel in range(3):
        through = np.ones((shape[0] * FINE, shape[1] * FINE), np.float32)
        for cover, toner_colour in layers:
            through *= cv2.LUT(cover, np.linspace(1, toner_colour[channel], 256, dtype=np.float32))
        yield seen(through)


DRIVER = Driver(600, "area")
MODEL = Printer("clustered_150", DRIVER, render, PER_MM, (0.84, 0.85, 0.86), 0.005)
