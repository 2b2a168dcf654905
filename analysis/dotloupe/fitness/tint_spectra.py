"""Grain as a probe of the camera: dots hold detail far beyond what an edge of the print does."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise, product
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.special import gammaln

from dotloupe.arrays import FloatArray
from dotloupe.patch import PAPER_TONE, SLANT_DEG, Axis, Region
from dotloupe.registration import View, jacobian, map_points

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
STRIPE_TONE = "mid"
STRIPE_LENGTH_MM = 2.6
LEAST_SIDE_PX = 24


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
    """Measure the spectra of all tints, and of the stripes between slanted edges, in green."""
    rings = _rings(view.registration.pixels_per_mm)
    found = [
        (region.tone, tile)
        for region in (*_tiles_of(view.regions("tint")), *_stripes(view))
        if (tile := _tile(view, region, rings)) is not None
    ]
    printed = tuple(tile for tone, tile in found if tone != PAPER_TONE)
    blank = [tile.power.mean(axis=0) for tone, tile in found if tone == PAPER_TONE]
    noise = blank[0] if blank else np.zeros(len(rings) - 1)
    return GrainSpectra((rings[:-1] + rings[1:]) / 2, printed, noise)


def _tiles_of(regions: Iterable[Region]) -> Iterator[Region]:
    """Tints as they are, large ones in up to three by three tiles."""
    for region in regions:
        count = min(int((min(region.width_mm, region.height_mm) - 2 * BORDER_MM) / TILE_MM), 3)
        if count < 2:
            yield region
            continue
        width, height = region.width_mm / count, region.height_mm / count
        for row, column in product(range(count), repeat=2):
            x_mm, y_mm = region.x_mm + column * width, region.y_mm + row * height
            yield replace(region, x_mm=x_mm, y_mm=y_mm, width_mm=width, height_mm=height)


def _stripes(view: View) -> Iterator[Region]:
    """Even rectangles between neighbouring slanted edges of the mid tone."""
    axes: tuple[Axis, Axis] = ("x", "y")
    for axis in axes:
        edges = [r for r in view.regions("edge", axis) if r.tone == STRIPE_TONE]
        for first, second in pairwise(edges):
            (x1, y1), (x2, y2) = first.centre_mm, second.centre_mm
            gap = abs(x2 - x1) + abs(y2 - y1)
            narrow = gap - STRIPE_LENGTH_MM * np.tan(np.radians(SLANT_DEG))
            if axis == "x":
                width, height = narrow, STRIPE_LENGTH_MM
            else:
                width, height = STRIPE_LENGTH_MM, narrow
            x_mm, y_mm = (x1 + x2 - width) / 2, (y1 + y2 - height) / 2
            name = f"stripe after {first.name}"
            yield Region(name, "tint", x_mm, y_mm, width, height, tone=STRIPE_TONE)


def tile_pixels(view: View, region: Region) -> FloatArray:
    """Green reflectance of the middle of a region, upright in the frame, not reduced."""
    to_capture = np.linalg.inv(view.registration.homography)
    local = jacobian(to_capture, region.centre_mm)
    size_mm = np.minimum(
        np.array([region.width_mm, region.height_mm]) - 2 * BORDER_MM, (TILE_MM, TILE_MM)
    )
    half = size_mm / 2 * np.linalg.norm(local, axis=0)
    turned = np.arctan2(local[1, 0], local[0, 0]) % np.pi
    if np.pi / 4 < turned < 3 * np.pi / 4:
        half, turned = half[::-1], turned - np.pi / 2
    # The largest upright rectangle of these proportions in the turned one.
    lean = np.abs(np.tan(turned))
    half = half / (1 + lean * max(half[0] / half[1], half[1] / half[0]))
    x, y = map_points(to_capture, np.array([region.centre_mm]))[0]
    rows, columns = view.capture.shape
    first = max(round(y - half[1]), 0), max(round(x - half[0]), 0)
    last = min(round(y + half[1]), rows), min(round(x + half[0]), columns)
    coded = view.capture.pixels[first[0] : last[0], first[1] : last[1], GREEN]
    by_value = (view.capture.linear / view.capture.paper_level[GREEN]).astype(np.float32)
    return np.asarray(cv2.LUT(np.ascontiguousarray(coded), by_value))


def _rings(pixels_per_mm: float) -> FloatArray:
    highest = min(HIGHEST, int(USABLE_SHARE * pixels_per_mm))
    return np.arange(LOWEST, max(highest, LOWEST + 1) + 1, dtype=float)


def _tile(view: View, region: Region, rings: FloatArray) -> GrainTile | None:
    pixels = tile_pixels(view, region)
    per_mm = view.registration.pixels_per_mm
    factor = max(1, int(per_mm / WORKING_PER_MM))
    rows, columns = (n // factor for n in pixels.shape)
    if min(rows, columns) < LEAST_SIDE_PX:
        return None
    whole = pixels[: rows * factor, : columns * factor]
    reduced: FloatArray = np.asarray(
        cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.float32
    )
    level = float(reduced.mean())
    down, across = (np.hanning(n + 2)[1:-1].astype(np.float32) for n in (rows, columns))
    seen = (reduced / level - 1) * across * down[:, None]
    working = per_mm / factor
    index, count, passed = _bins((rows, columns), working, factor, tuple(rings))
    power = np.abs(fft.rfft2(seen)) ** 2 / float(np.sum(down**2) * np.sum(across**2) * working**2)
    logs = np.log(np.maximum(power / passed, LEAST_POWER))
    total = np.bincount(index.ravel(), logs.ravel(), minlength=count.size + 1)[:-1]
    by_direction = _mean_power(np.reshape(total, (WEDGES, -1)), count.reshape(WEDGES, -1))
    return GrainTile(region.name, region.centre_mm, max(level, 1e-3), by_direction)


@lru_cache(maxsize=32)
def _bins(
    size: tuple[int, int], per_mm: float, factor: int, rings: tuple[float, ...]
) -> tuple[NDArray[np.intp], NDArray[np.intp], FloatArray]:
    """Cell of each frequency, frequencies in each cell, and what the reduction's average passes."""
    y = np.fft.fftfreq(size[0], 1 / per_mm)[:, None]
    x = np.fft.rfftfreq(size[1], 1 / per_mm)[None, :]
    ring = np.floor(np.hypot(x, y) - rings[0]).astype(int)
    wedge = np.round(np.arctan2(y, x) / (np.pi / WEDGES)).astype(int) % WEDGES
    count = len(rings) - 1
    index = np.where((ring >= 0) & (ring < count), wedge * count + ring, WEDGES * count)
    box = 1 / per_mm
    passed = _box_mean(x, box, factor) * _box_mean(y, box, factor)
    inside = np.bincount(index.ravel(), minlength=WEDGES * count + 1)[:-1]
    return index, inside, np.maximum(passed**2, 0.05)


def _mean_power(logs: NDArray[Any], count: NDArray[np.signedinteger[Any]]) -> FloatArray:
    """Mean noise power from sums of its logarithms, by direction and ring.

    Powers are exponential: the mean of n logarithms, raised, has the expectation
    gamma(1 + 1/n)^n of the mean power (derived). A Hann window leaves about 0.4 independent
    values a frequency. A direction without any in a ring takes the mean of all.
    """
    every_logs, every = logs.sum(axis=0), count.sum(axis=0)
    logs = np.where(count > 0, logs, every_logs)
    count = np.maximum(np.where(count > 0, count, every), 1)
    independent = np.maximum(0.4 * count, 1.0)
    return np.asarray(np.exp(logs / count - independent * gammaln(1 + 1 / independent)))


def _box_mean(frequency: FloatArray, side_mm: float, count: int) -> FloatArray:
    """Transfer of the mean of `count` samples over a side."""
    step = frequency * side_mm / count
    ratio = np.sinc(step * count) / np.sinc(step)
    return np.asarray(np.abs(ratio))
