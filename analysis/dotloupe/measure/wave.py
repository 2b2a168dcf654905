"""One sine wave in an array of pixels: drawing it, refining its frequency, fitting it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray


@dataclass(frozen=True)
class Wave:
    """One sine wave on a grid of pixels.

    Attributes
    ----------
    frequency : (float, float)
        x and y, cycles per pixel.
    cosine, sine : float
        Amplitudes in reflectance, with the phase counted from the first pixel.
    floor : float
        Squared amplitude that noise alone gives on average.
    """

    frequency: tuple[float, float]
    cosine: float
    sine: float
    floor: float

    @property
    def amplitude(self) -> float:
        """In reflectance."""
        return hypot(self.cosine, self.sine)

    def drawn(self, shape: tuple[int, int]) -> FloatArray:
        """Draw the wave, shape (h, w)."""
        across = np.exp(-2j * pi * self.frequency[0] * np.arange(shape[1]))
        down = np.exp(-2j * pi * self.frequency[1] * np.arange(shape[0]))
        factor = complex(self.cosine, self.sine)
        return np.real(np.outer((factor * down).astype(np.complex64), across.astype(np.complex64)))


def coarser(field: FloatArray, factor: int) -> FloatArray:
    """Means of blocks of factor by factor pixels; what does not fill a block is left out."""
    if factor == 1:
        return field
    height, width = (n // factor * factor for n in field.shape)
    blocks = field[:height, :width].reshape(height // factor, factor, width // factor, factor)
    return np.asarray(blocks.mean(axis=(1, 3)))


def on_fine_grid(wave: Wave, factor: int) -> Wave:
    """Turn a wave on averaged pixels into the one on the pixels that were averaged."""
    if factor == 1:
        return wave
    fx, fy = wave.frequency[0] / factor, wave.frequency[1] / factor
    # an averaged pixel has its centre (factor - 1)/2 pixels on, and blurs by its width
    turn = np.exp(2j * pi * (fx + fy) * (factor - 1) / 2)
    blur = _box_transfer(fx, factor) * _box_transfer(fy, factor)
    value = complex(wave.cosine, wave.sine) * turn / blur
    return Wave((fx, fy), float(value.real), float(value.imag), wave.floor / blur**2)


def _box_transfer(cycles_per_pixel: float, factor: int) -> float:
    angle = pi * cycles_per_pixel
    return float(np.sin(factor * angle) / (factor * np.sin(angle))) if angle else 1.0


def refined_frequency(tapered: FloatArray, start: tuple[float, float]) -> tuple[float, float]:
    """Frequency of the highest point of the continuous spectrum near a peak."""
    height, width = tapered.shape
    row, column = np.arange(height) - height / 2, np.arange(width) - width / 2

    def lowered(offset: FloatArray) -> float:
        fx, fy = start[0] + offset[0] / width, start[1] + offset[1] / height
        across = tapered @ np.exp(-2j * pi * fx * column)
        return -float(np.abs(np.exp(-2j * pi * fy * row) @ across) ** 2)

    scale = -lowered(np.zeros(2))
    found = minimize(
        lambda v: lowered(v) / scale,
        np.zeros(2),
        method="Nelder-Mead",
        options={"xatol": 1e-4, "fatol": 1e-10, "initial_simplex": [[0, 0], [0.3, 0], [0, 0.3]]},
    )
    return start[0] + float(found.x[0]) / width, start[1] + float(found.x[1]) / height


def fitted_wave(
    residual: FloatArray,
    frequency: tuple[float, float],
    window_y: FloatArray,
    window_x: FloatArray,
) -> tuple[float, float]:
    """Cosine and sine amplitude of a wave beside a plane, by weighted least squares."""
    height, width = residual.shape
    row = np.linspace(-1, 1, height)[:, None]
    column = np.linspace(-1, 1, width)[None, :]
    turns = frequency[1] * np.arange(height)[:, None] + frequency[0] * np.arange(width)[None, :]
    wave = np.exp(2j * pi * turns)
    terms = (wave.real, wave.imag, np.ones_like(turns), row + 0 * column, column + 0 * row)
    design = np.stack([np.ravel(t) for t in terms])
    weighted = design * np.ravel(window_y[:, None] * window_x[None, :])
    answer = np.linalg.solve(weighted @ design.T, weighted @ np.ravel(residual))
    return float(answer[0]), float(answer[1])
