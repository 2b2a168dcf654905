"""Clustered dots at 200 lines/inch from exposure in steps: a light beam writes, toner follows.

Round spots grow about the points of a turned lattice. Pixels of 1200 x 1200 are exposed in eight
steps, the beam is blurred, and toner settles where the exposure is high. Greys are made of all
four toners, most of it black.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer

PIXELS_PER_INCH = 1200
UP = 4
PER_MM = PIXELS_PER_INCH * UP / MM_PER_INCH
CELL = PIXELS_PER_INCH / 200
SCREENS_DEG = {"cyan": 71.6, "magenta": 45.0, "yellow": 0.0, "black": 18.4}
STEPS = 8
BEAM_MM = 0.011
STEEP = 7.0
GRAIN = 0.05
DENSITY = {
    "cyan": (1.25, 0.06, 0.02),
    "magenta": (0.04, 1.25, 0.08),
    "yellow": (0.0, 0.03, 1.25),
    "black": (1.35, 1.35, 1.35),
}
BLACK_SHARE = 0.75
PAPER_MM = 0.015


def exposure(amount: Floats, angle_deg: float) -> Floats:
    """Exposure in steps: full inside a round spot of the area asked for, partly at its border."""
    y, x = np.mgrid[: amount.shape[0], : amount.shape[1]].astype(np.float32)
    c, s = np.cos(np.deg2rad(angle_deg)) / CELL, np.sin(np.deg2rad(angle_deg)) / CELL
    u, v = c * x + s * y, c * y - s * x
    away = np.hypot(u - np.rint(u), v - np.rint(v))
    # beyond a half the circle is cut by the cell, and the rest is filled towards the corners
    radius = np.sqrt(amount / np.pi)
    radius = np.where(
        amount > 0.6, 0.437 + np.maximum(amount - 0.6, 0) ** 1.5 * 1.2, radius
    ).astype(np.float32)
    level = np.clip((radius - away) * CELL + 0.5, 0, 1) * (amount > 0)
    return np.rint(STEPS * level) / STEPS


def settled(light: Floats, rng: np.random.Generator) -> Floats:
    """Toner, 0 to 1, on the fine grid."""
    wide = cv2.resize(light.astype(np.float32), None, fx=UP, fy=UP, interpolation=cv2.INTER_NEAREST)
    wide = cv2.GaussianBlur(wide, (0, 0), BEAM_MM * PER_MM)
    speckle = rng.standard_normal((wide.shape[0] // 3 + 1, wide.shape[1] // 3 + 1), np.float32)
    wide += GRAIN * cv2.resize(speckle, wide.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.clip(0.5 + STEEP / 4 * (wide - 0.45), 0, 1)


def looked_at(density: Floats) -> Floats:
    """Reflectance through toner of a density, blurred by the paper."""
    return cv2.GaussianBlur(cv2.exp(density * np.float32(-np.log(10))), (0, 0), PAPER_MM * PER_MM)


@cache
def table() -> tuple[Floats, Floats]:
    """Reflectance of even fields, rising, against amount, for a density of 1.3."""
    amounts = np.linspace(1, 0, 41)
    rng = np.random.default_rng(200)
    fields = [settled(exposure(np.full((96, 96), a, np.float32), 18.4), rng) for a in amounts]
    return np.maximum.accumulate([looked_at(1.3 * f).mean() for f in fields]), amounts


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance."""
    rng = np.random.default_rng([seed, 200])
    grey = np.clip(raster.max(axis=-1), 0.02, 1)
    rest = raster / grey[..., None] * (grey ** (1 - BLACK_SHARE))[..., None]
    wanted = {"cyan": rest[..., 0], "magenta": rest[..., 1], "yellow": rest[..., 2]}
    wanted["black"] = grey**BLACK_SHARE
    times = PIXELS_PER_INCH // DRIVER.raster_ppi
    size = (grey.shape[1] * times, grey.shape[0] * times)
    toners = {}
    for ink, reflectance in wanted.items():
        amount = np.interp(reflectance, *table()) * (reflectance < 0.995)
        fine = cv2.resize(amount.astype(np.float32), size, interpolation=cv2.INTER_NEAREST)
        cover = settled(exposure(fine, SCREENS_DEG[ink]), rng)
        toners[ink] = np.rint(255 * cover).astype(np.uint8)
    for channel in range(3):
        density = np.zeros((size[1] * UP, size[0] * UP), np.float32)
        for ink, cover in toners.items():
            if DENSITY[ink][channel]:
                density += cover * np.float32(DENSITY[ink][channel] / 255)
        yield looked_at(density)


DRIVER = Driver(600, "bicubic")
MODEL = Printer("clustered_200", DRIVER, render, PER_MM, (0.87, 0.87, 0.85), 0.003)
