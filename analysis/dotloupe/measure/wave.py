"""Sine waves in an array of pixels: drawing them, and fitting them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, pi
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray

MOST_STEPS = 12


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


def drawn(waves: Sequence[Wave], shape: tuple[int, ...]) -> FloatArray:
    """Draw the sum of waves, shape (h, w), single precision."""
    out = np.zeros(shape, dtype=np.float32)
    for wave in waves:
        out += wave.drawn((shape[0], shape[1]))
    return out


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


def fit_waves(field: FloatArray, waves: Sequence[Wave]) -> list[Wave]:
    """Fit waves and a plane together by least squares, frequencies too (Gauss and Newton).

    Parameters
    ----------
    field : ndarray, shape (h, w)
    waves : sequence of Wave
        Each within half a cycle over the field of its true frequency; an amplitude of zero is a
        fair start.
    """
    height, width = field.shape
    row = (np.arange(height) - (height - 1) / 2) / height
    column = (np.arange(width) - (width - 1) / 2) / width
    one_row, one_column = np.ones(height), np.ones(width)
    plane = [np.outer(one_row, one_column), np.outer(row, one_column), np.outer(one_row, column)]
    cycles = np.array([[w.frequency[0] * width, w.frequency[1] * height] for w in waves])
    values = np.array([complex(w.cosine, w.sine) for w in waves])
    target = np.ravel(field).astype(np.float64)
    for step in range(MOST_STEPS):
        terms = list(plane)
        for (across, down), value in zip(cycles, values, strict=True):
            turning = np.outer(np.exp(-2j * pi * down * row), np.exp(-2j * pi * across * column))
            swing = (-2j * pi * value) * turning
            terms += [turning.real, -turning.imag]
            terms += [swing.real * column[None, :], swing.real * row[:, None]]
        design = np.stack([np.ravel(t) for t in terms])
        normal = design @ design.T
        answer = np.linalg.lstsq(normal, design @ target, rcond=None)[0][3:].reshape(-1, 4)
        values = answer[:, 0] + 1j * answer[:, 1]
        cycles = cycles + np.clip(answer[:, 2:], -0.3, 0.3)
        if step and np.abs(answer[:, 2:]).max() < 1e-7:
            break
    turn = np.exp(-2j * pi * (cycles[:, 0] * column[0] + cycles[:, 1] * row[0]))
    return [
        replace(
            wave,
            frequency=(float(across / width), float(down / height)),
            cosine=float(value.real),
            sine=float(value.imag),
        )
        for wave, (across, down), value in zip(waves, cycles, values * turn, strict=True)
    ]
