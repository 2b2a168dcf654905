"""A drawing sent, a driver's raster, a print: what all models share, and nothing of their dots."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

Floats = NDArray[np.floating[Any]]
Method = Literal["nearest", "bilinear", "area", "bicubic"]
METHODS: tuple[Method, ...] = ("nearest", "bilinear", "area", "bicubic")
MM_PER_INCH = 25.4
MARGIN_MM = 4.0
LEVELS_AT_FULL = 60000
"""Level that stands for a reflectance of 1."""
CUBIC_A = -0.3
"""Keys' parameter: steps overshoot by 4.4 %."""


@dataclass(frozen=True)
class Print:
    """Linear RGB reflectance of a printed drawing on a fine grid, margins of bare paper included.

    Attributes
    ----------
    levels : ndarray of shape (3, rows, columns), uint16
        Reflectance times `LEVELS_AT_FULL`; a quarter of the memory of double precision.
    pixels_per_mm : float
    size_mm : (float, float)
        Width and height of the drawing, margins left out.
    paper : (float, float, float)
        Reflectance of bare paper.
    """

    levels: NDArray[np.uint16]
    pixels_per_mm: float
    size_mm: tuple[float, float]
    paper: tuple[float, float, float]

    def reflectance(self, channel: int) -> NDArray[np.float32]:
        """One channel as reflectance, shape (rows, columns)."""
        return self.levels[channel] * np.float32(1 / LEVELS_AT_FULL)

    def cut(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> Floats:
        """Cut a rectangle of the drawing, relative to the paper: shape (rows, columns, 3)."""
        across, down = (np.array([x_mm, y_mm]) + MARGIN_MM) * self.pixels_per_mm
        columns, rows = np.array([width_mm, height_mm]) * self.pixels_per_mm
        place = (
            slice(round(down), round(down + rows)),
            slice(round(across), round(across + columns)),
        )
        part = np.moveaxis(self.levels[:, *place], 0, -1)
        return part / (LEVELS_AT_FULL * np.array(self.paper))


@dataclass(frozen=True)
class Driver:
    """How a sent file becomes the printer's raster."""

    raster_ppi: int
    method: Method

    def resample(self, coded: Floats, sent_ppi: float) -> Floats:
        """Resample 8-bit values, shape (rows, columns, 3), and round them to whole levels again."""
        ratio = self.raster_ppi / sent_ppi
        rows, columns = (round(n * ratio) for n in coded.shape[:2])
        down = _weights(coded.shape[0], rows, ratio, self.method)
        across = _weights(coded.shape[1], columns, ratio, self.method)
        channels = [down @ coded[..., i] @ across.T for i in range(3)]
        return np.clip(np.round(np.stack(channels, axis=-1)), 0, 255)


@dataclass(frozen=True)
class Printer:
    """A printer model: call it with a patch and a seed.

    Attributes
    ----------
    name : str
    driver : Driver
        The one that it comes with.
    render : callable
        Takes linear reflectance on the driver's raster, shape (rows, columns, 3), and a seed;
        yields three channels of reflectance relative to the paper.
    pixels_per_mm : float
        Of what `render` yields.
    paper : (float, float, float)
        Reflectance of bare paper.
    texture : float
        Standard deviation of the paper's own reflectance, relative to it.
    """

    name: str
    driver: Driver
    render: Callable[[Floats, int], Iterator[Floats]]
    pixels_per_mm: float
    paper: tuple[float, float, float]
    texture: float

    def __call__(self, patch: Any, seed: int, *, driver: Driver | None = None) -> Print:
        """Print a patch at the resolution that it is sent at."""
        drawing = patch.reflectance(patch.sent_ppi)
        return self.print_drawing(drawing, patch.sent_ppi, seed, driver=driver)

    def print_drawing(
        self, reflectance: Floats, sent_ppi: float, seed: int, *, driver: Driver | None = None
    ) -> Print:
        """Print linear reflectance, shape (rows, columns, 3), sent as 8-bit sRGB."""
        driver = driver or self.driver
        coded = driver.resample(np.round(255 * srgb_coded(reflectance)), sent_ppi)
        height, width = (n * MM_PER_INCH / sent_ppi for n in reflectance.shape[:2])
        border = round(MARGIN_MM * self.pixels_per_mm)
        levels, texture = np.empty((3, 0, 0), np.uint16), np.empty((0, 0), np.float32)
        for channel, seen in enumerate(self.render(srgb_linear(coded / 255), seed)):
            sheet = cv2.copyMakeBorder(
                np.asarray(seen, np.float32), *(4 * [border]), cv2.BORDER_CONSTANT, value=1.0
            )
            if channel == 0:
                texture = _paper_texture(sheet.shape, self.pixels_per_mm, self.texture, seed)
                levels = np.empty((3, *sheet.shape), np.uint16)
            scale = LEVELS_AT_FULL * self.paper[channel]
            cv2.multiply(sheet, texture, levels[channel], scale, dtype=cv2.CV_16U)
        return Print(levels, self.pixels_per_mm, (width, height), self.paper)


def srgb_coded(linear: Floats) -> Floats:
    """Code linear light by IEC 61966-2-1."""
    light = np.clip(linear, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def srgb_linear(coded: Floats) -> Floats:
    """Undo `srgb_coded`."""
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def grey_and_colours(reflectance: Floats) -> tuple[Floats, Floats]:
    """Split RGB into the part that all channels have in common and what is left for C, M and Y."""
    grey = reflectance.max(axis=-1)
    return grey, reflectance / np.maximum(grey, 1e-6)[..., None]


def inked_box(plane: NDArray[Any]) -> tuple[slice, slice]:
    """Smallest rectangle that holds all ink of a plane, four elements wider where there is room."""
    rows, columns = (np.flatnonzero(plane.any(axis=axis)) for axis in (1, 0))
    if not rows.size:
        return slice(0, 0), slice(0, 0)
    return tuple(slice(max(int(n[0]) - 4, 0), int(n[-1]) + 5) for n in (rows, columns))  # type: ignore[return-value]


def _paper_texture(shape: tuple[int, ...], pixels_per_mm: float, sd: float, seed: int) -> Floats:
    """Uneven whiteness of paper, of patches some 0.1 mm wide."""
    coarse = tuple(int(n / pixels_per_mm * 12) + 2 for n in shape)
    noise = np.random.default_rng([seed, 4711]).normal(1.0, 1.4 * sd, coarse).astype(np.float32)
    return cv2.resize(noise, shape[::-1], interpolation=cv2.INTER_LINEAR)


def _weights(size: int, new_size: int, ratio: float, method: Method) -> sparse.csr_array:
    """Matrix that resamples one axis; pixels beyond the ends repeat the last one."""
    centres = (np.arange(new_size) + 0.5) / ratio - 0.5
    reach = 2 if method == "bicubic" else 1
    if method == "area":
        reach = int(np.ceil(1 / ratio)) + 1
    first = np.floor(centres).astype(int)
    rows, columns, values = [], [], []
    for step in range(1 - reach, reach + 1):
        away = np.abs(first + step - centres)
        if method == "nearest":
            value = (np.floor(centres + 0.5) == first + step).astype(float)
        elif method == "bilinear":
            value = np.maximum(1 - away, 0)
        elif method == "area":
            half = 0.5 / ratio
            value = np.clip(half + 0.5 - away, 0, min(1.0, 2 * half))
        else:
            near = (CUBIC_A + 2) * away**3 - (CUBIC_A + 3) * away**2 + 1
            far = CUBIC_A * (away**3 - 5 * away**2 + 8 * away - 4)
            value = np.where(away <= 1, near, np.where(away < 2, far, 0))
        rows.append(np.arange(new_size))
        columns.append(np.clip(first + step, 0, size - 1))
        values.append(value)
    matrix = sparse.csr_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(new_size, size),
    )
    return sparse.csr_array(sparse.diags_array(1 / matrix.sum(axis=1)) @ matrix)
