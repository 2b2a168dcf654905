"""Grain as a probe of the camera: dots hold detail far beyond what an edge of the print does."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from dotloupe.arrays import FloatArray
from dotloupe.patch.geometry import Region
from dotloupe.registration.plane import jacobian, map_points
from dotloupe.view import View

TILE_MM = 2.7
BORDER_MM = 0.2
WORKING_PER_MM = 48.0
LOWEST, HIGHEST = 3, 24
"""Rings of one cycle/mm between these."""
USABLE_SHARE = 0.42
"""Of the sampling frequency; above, colour interpolation and aliases rule."""
WEDGES = 4
"""Directions 0, 45, 90 and 135 degrees from the frame's rows, 45 degrees wide each."""
LEAST_POWER = 1e-15
GREEN = 1
PAPER_TONE = "paper"


@dataclass(frozen=True)
class GrainTile:
    """Noise power of one tint by frequency and direction.

    Attributes
    ----------
    name : str
    centre_mm : (float, float)
        On the patch.
    level : float
        Mean reflectance.
    power : ndarray of shape (4, rings)
        Of relative reflectance, in mm^2, by direction of the modulation in the frame; the mean
        of noise by way of its logarithm, so that lines of a halftone's lattice do not count.
    """

    name: str
    centre_mm: tuple[float, float]
    level: float
    power: FloatArray


@dataclass(frozen=True)
class GrainSpectra:
    """Spectra of a capture's tints.

    Attributes
    ----------
    frequency : ndarray of shape (rings,)
        Cycles/mm, the middle of each ring.
    tiles : tuple of GrainTile
        Printed tints, the blank one left out.
    noise : ndarray of shape (rings,)
        Power of the blank paper: camera noise and what the paper has of its own.
    """

    frequency: FloatArray
    tiles: tuple[GrainTile, ...]
    noise: FloatArray

    def printed(self, tile: GrainTile) -> FloatArray:
        """Power of a tile less the camera's noise, which grows as its light falls."""
        return tile.power - self.noise / tile.level


def grain_spectra(view: View) -> GrainSpectra:
    """Measure the spectra of all tints, in the green channel."""
    rings = _rings(view.registration.pixels_per_mm)
    found = [
        (region.tone, tile)
        for region in view.regions("tint")
        if (tile := _tile(view, region, rings)) is not None
    ]
    printed = tuple(tile for tone, tile in found if tone != PAPER_TONE)
    blank = [tile.power.mean(axis=0) for tone, tile in found if tone == PAPER_TONE]
    noise = blank[0] if blank else np.zeros(len(rings) - 1)
    return GrainSpectra((rings[:-1] + rings[1:]) / 2, printed, noise)


def tile_pixels(view: View, region: Region) -> FloatArray:
    """Green reflectance of the middle of a region, upright in the frame, not reduced."""
    to_capture = np.linalg.inv(view.registration.homography)
    local = jacobian(to_capture, region.centre_mm)
    across, down = (1 / np.linalg.norm(np.linalg.inv(local), axis=1)).tolist()
    side_mm = min(min(region.width_mm, region.height_mm) - 2 * BORDER_MM, TILE_MM)
    turned = abs(np.arctan2(local[1, 0], local[0, 0]) % (np.pi / 2))
    turned = min(turned, np.pi / 2 - turned)
    half = side_mm * min(across, down) / (2 * (np.cos(turned) + np.sin(turned)))
    x, y = map_points(to_capture, np.array([region.centre_mm]))[0]
    rows, columns = view.capture.shape
    first = max(round(y - half), 0), max(round(x - half), 0)
    last = min(round(y + half), rows), min(round(x + half), columns)
    coded = view.capture.pixels[first[0] : last[0], first[1] : last[1], GREEN]
    light: FloatArray = view.capture.linear[coded] / view.capture.paper_level[GREEN]
    return light.astype(np.float32)


def _rings(pixels_per_mm: float) -> FloatArray:
    highest = min(HIGHEST, int(USABLE_SHARE * pixels_per_mm))
    return np.arange(LOWEST, max(highest, LOWEST + 1) + 1, dtype=float)


def _tile(view: View, region: Region, rings: FloatArray) -> GrainTile | None:
    pixels = tile_pixels(view, region)
    per_mm = view.registration.pixels_per_mm
    factor = max(1, int(per_mm / WORKING_PER_MM))
    side = min(pixels.shape) // factor
    if side < 32:
        return None
    reduced = pixels[: side * factor, : side * factor]
    reduced = reduced.reshape(side, factor, side, factor).mean(axis=(1, 3))
    level = float(reduced.mean())
    window = np.hanning(side + 2)[1:-1].astype(np.float32)
    seen = (reduced / level - 1) * window * window[:, None]
    working = per_mm / factor
    index, passed = _bins(side, working, factor, tuple(rings))
    power = np.abs(fft.rfft2(seen)) ** 2 / (float(np.sum(window**2)) ** 2 * working**2)
    cells = WEDGES * (len(rings) - 1)
    logs = np.log(np.maximum(power / passed, LEAST_POWER))
    total = np.bincount(index.ravel(), logs.ravel(), minlength=cells + 1)[:cells]
    count = np.bincount(index.ravel(), minlength=cells + 1)[:cells]
    by_direction = np.exp(total / np.maximum(count, 1) + np.euler_gamma).reshape(WEDGES, -1)
    return GrainTile(region.name, region.centre_mm, max(level, 1e-3), by_direction)


@lru_cache(maxsize=8)
def _bins(
    side: int, per_mm: float, factor: int, rings: tuple[float, ...]
) -> tuple[NDArray[np.intp], FloatArray]:
    """Cell of each frequency by direction and ring, and what the reduction's average passes."""
    y = np.fft.fftfreq(side, 1 / per_mm)[:, None]
    x = np.fft.rfftfreq(side, 1 / per_mm)[None, :]
    ring = np.floor(np.hypot(x, y) - rings[0]).astype(int)
    wedge = np.round(np.arctan2(y, x) / (np.pi / WEDGES)).astype(int) % WEDGES
    count = len(rings) - 1
    index = np.where((ring >= 0) & (ring < count), wedge * count + ring, WEDGES * count)
    box = 1 / per_mm
    passed = _box_mean(x, box, factor) * _box_mean(y, box, factor)
    return index, np.maximum(passed**2, 0.05)


def _box_mean(frequency: FloatArray, side_mm: float, count: int) -> FloatArray:
    """Transfer of the mean of `count` samples over a side."""
    step = frequency * side_mm / count
    ratio = np.sinc(step * count) / np.sinc(step)
    return np.asarray(np.abs(ratio))
