"""Blue-noise threshold, 720 dots/inch, three drop sizes, light black, light cyan, light magenta.

The mask is white noise, high-passed and ranked anew until it stays even. Light tones are made of
light ink; darker ones replace it step by step.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np
from scipy import fft

from .printed import MM_PER_INCH, Driver, Floats, Printer, inked_box

GRID = 6
PER_MM = 720 * GRID / MM_PER_INCH
DROPS_UM = (22.0, 32.0, 46.0)
SIDE = 192
CUT = 0.32
"""Frequency, in cycles per dot, that the mask is free of below."""
DENSITIES = {"full": 0.72, "light": 0.24}
"""Of one passage through a solid layer."""
HUES = ((1.0, 0.06, 0.01), (0.03, 1.0, 0.08), (0.0, 0.03, 1.0), (1.0, 1.0, 1.0))
"""Share of its density that each of C, M, Y, K has in each channel."""
TURN = 0.5
"""Amount up to which there is light ink alone."""
GLOW_MM = 0.016


@cache
def mask(ink: int) -> Floats:
    """Thresholds from 0 to 1, another for each ink."""
    rng = np.random.default_rng([77, ink])
    frequency = np.hypot(fft.fftfreq(SIDE)[:, None], fft.rfftfreq(SIDE)[None])
    keep = 1 - np.exp(-((frequency / CUT) ** 4))
    values = rng.random((SIDE, SIDE))
    for _ in range(14):
        passed = fft.irfft2(fft.rfft2(values) * keep, (SIDE, SIDE))
        order = np.empty(SIDE * SIDE)
        order[np.argsort(passed, axis=None)] = (np.arange(SIDE * SIDE) + 0.5) / SIDE**2
        values = order.reshape(SIDE, SIDE)
    return values


def drops(amount: Floats, ink: int) -> np.ndarray:
    """Size of drop, 0 to 3, at every place."""
    height, width = amount.shape
    tiles = (height // SIDE + 1, width // SIDE + 1)
    return (
        np.floor(3 * amount + np.tile(mask(ink), tiles)[:height, :width] * (amount > 0))
        .astype(np.uint8)
        .clip(0, 3)
    )


def layer(sizes: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Coverage in 255ths by drops whose centres are off by some micrometres."""
    cover = np.zeros(np.multiply(sizes.shape, GRID), np.uint8)
    for size, diameter_um in enumerate(DROPS_UM, start=1):
        at = np.argwhere(sizes == size) * GRID + rng.integers(2, 5, (np.sum(sizes == size), 2))
        points = np.zeros_like(cover)
        points[at[:, 0], at[:, 1]] = 255
        radius = diameter_um * PER_MM / 2000
        n = 2 * int(radius + 1) + 1
        grid = np.linspace(-(n // 2) - 0.375, n // 2 + 0.375, 4 * n)
        disc = (grid[:, None] ** 2 + grid[None] ** 2 < radius**2).astype(np.float32)
        disc = disc.reshape(n, 4, n, 4).mean(axis=(1, 3))
        cover = np.maximum(cover, cv2.filter2D(points, -1, disc))
    return cover


def amounts(dose: Floats) -> tuple[Floats, Floats]:
    """Light and full ink of a dose from 0 to 1."""
    full = np.clip((dose - TURN) / (1 - TURN), 0, 1)
    light = np.where(dose < TURN, dose / TURN, 1 - 0.6 * full)
    return light, full


def lit(density: Floats) -> Floats:
    """Reflectance through a layer of ink passed on the way in, and after a glow on the way out."""
    passed = cv2.exp(density * np.float32(-np.log(10)))
    return passed * cv2.GaussianBlur(passed, (0, 0), GLOW_MM * PER_MM)


@cache
def doses() -> tuple[Floats, Floats]:
    """Reflectance (rising) and dose of flat fields of black."""
    steps = np.linspace(1, 0, 21) ** 1.4
    rng = np.random.default_rng(8)
    seen = []
    for step in steps:
        density = np.zeros((96 * GRID, 96 * GRID), np.float32)
        for kind, amount in zip(("light", "full"), amounts(np.full((96, 96), step)), strict=True):
            density += DENSITIES[kind] / 255 * layer(drops(amount, len(kind)), rng)
        seen.append(lit(density)[60:-60, 60:-60].mean())
    return np.maximum.accumulate(seen), steps


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance; the raster is that of the dots."""
    rng = np.random.default_rng([seed, 5])
    grey = raster.max(axis=-1)
    wanted = [*np.moveaxis(raster / np.maximum(grey, 1e-6)[..., None], -1, 0), grey]
    layers = []
    for ink, reflectance in enumerate(wanted):
        dose = np.interp(reflectance, *doses()) * (reflectance < 0.992)
        for kind, amount in zip(("light", "full"), amounts(dose), strict=True):
            if ink == 2:  # yellow comes in one strength
                amount = dose if kind == "full" else 0 * dose
            sizes = drops(amount, 7 * ink + len(kind))
            rows, columns = inked_box(sizes)
            if rows.stop:
                place = tuple(slice(s.start * GRID, s.stop * GRID) for s in (rows, columns))
                layers.append((place, layer(sizes[rows, columns], rng), DENSITIES[kind], ink))
    for channel in range(3):
        density = np.zeros((raster.shape[0] * GRID, raster.shape[1] * GRID), np.float32)
        for place, cover, strength, ink in layers:
            if HUES[ink][channel]:
                part = density[place]
                part += cover * np.float32(strength * HUES[ink][channel] / 255)
        yield lit(density)


MODEL = Printer(
    "blue_noise_drops", Driver(720, "bilinear"), render, PER_MM, (0.9, 0.9, 0.91), 0.002
)
