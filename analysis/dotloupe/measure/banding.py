"""Banding: periodic noise along one direction, told apart from grain.

A band is a single peak near an axis of the two-dimensional spectrum that stands over its
neighbours by more than chance gives; grain, streaks and mottle spread over many values.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees, hypot, log, pi
from typing import TYPE_CHECKING, Literal

import numpy as np
import scipy.fft as sfft
from scipy.optimize import minimize

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray, Interval

MOST_BANDS = 4
FALSE_ALARM = 0.01
FINEST_CYCLES_PER_MM = 8.0
AXIS_TOLERANCE_DEG = 4.0
FEWEST_PERIODS = 1.5


@dataclass(frozen=True)
class Band:
    """One sinusoidal component of banding.

    Attributes
    ----------
    period_mm, period_interval : float, (float, float)
    direction : "x" or "y"
        Along which it repeats: "x" for bands that run along y.
    angle_deg : float
        Of the direction of repetition against that axis.
    amplitude : float
        In reflectance.
    strength, strength_interval : float, (float, float)
        Lightness variation it makes, L* rms.
    """

    period_mm: float
    period_interval: Interval
    direction: Literal["x", "y"]
    angle_deg: float
    amplitude: float
    strength: float
    strength_interval: Interval


@dataclass(frozen=True)
class Banding:
    """Bands found in a tint, the strongest first, and the field without them.

    Attributes
    ----------
    bands : tuple of Band
    strength, strength_interval : float, (float, float)
        Of all bands together, L* rms. Where none was found, 0 and the strength that would have
        been found.
    frequencies : ndarray, shape (n, 2)
        x and y frequency of each band, cycles/mm.
    pattern : ndarray, shape (h, w), or None
        The bands drawn, in reflectance.
    """

    bands: tuple[Band, ...]
    strength: float
    strength_interval: Interval
    frequencies: FloatArray
    pattern: FloatArray | None


@dataclass(frozen=True)
class _Wave:
    frequency: tuple[float, float]  # x, y, cycles per pixel
    amplitude: float
    floor: float  # squared amplitude that noise alone gives, on average
    drawn: FloatArray


def find_banding(
    residual: FloatArray, pixels_per_mm: float, lightness_slope: float = 1.0
) -> Banding:
    """Find periodic noise near the two axes.

    Parameters
    ----------
    residual : ndarray, shape (h, w)
        Reflectance less its trend.
    pixels_per_mm : float
    lightness_slope : float
        dL*/dR at the tint's mean.

    Returns
    -------
    Banding
        Periods from two thirds of the region's side down to 0.125 mm.
    """
    left = residual
    waves: list[_Wave] = []
    limit = 0.0
    for _ in range(MOST_BANDS):
        wave, limit = _strongest_wave(left, pixels_per_mm)
        if wave is None:
            break
        waves.append(wave)
        left = left - wave.drawn
    bands = tuple(_band(w, residual.shape, pixels_per_mm, lightness_slope) for w in waves)
    order = sorted(range(len(bands)), key=lambda i: -bands[i].strength)
    bands = tuple(bands[i] for i in order)
    frequencies = np.array([waves[i].frequency for i in order]).reshape(-1, 2) * pixels_per_mm
    if not bands:
        return Banding((), 0.0, (0.0, lightness_slope * limit / 2**0.5), frequencies, None)
    total = hypot(*(b.strength for b in bands))
    error = hypot(*(b.strength * (b.strength_interval[1] - b.strength) for b in bands)) / total
    interval = (max(0.0, total - error), total + error)
    return Banding(bands, total, interval, frequencies, residual - left)


def _strongest_wave(residual: FloatArray, pixels_per_mm: float) -> tuple[_Wave | None, float]:
    """Highest significant peak near an axis, or None and the amplitude that was looked for."""
    window_y, window_x = (_hann(n) for n in residual.shape)
    tapered = residual * window_y[:, None] * window_x[None, :]
    power = np.square(np.abs(sfft.rfft2(tapered)))
    frequency_y = sfft.fftfreq(residual.shape[0])
    frequency_x = sfft.rfftfreq(residual.shape[1])
    near, level = _near_axes(power, frequency_y, frequency_x, pixels_per_mm)
    gain = float(window_y.sum() * window_x.sum())
    if not near.any():
        return None, 0.0
    needed = log(max(int(near.sum()), 1) / FALSE_ALARM)
    over = np.where(near, power / np.maximum(level, 1e-300), 0)
    at = np.unravel_index(int(np.argmax(over)), over.shape)
    floor = float(level[at]) * 4 / gain**2
    if over[at] < needed:
        return None, (needed * float(level[near].max()) * 4) ** 0.5 / gain
    start = (float(frequency_x[at[1]]), float(frequency_y[at[0]]))
    frequency = _refined(tapered, start)
    amplitude, drawn = _fitted(residual, frequency, window_y, window_x)
    return _Wave(frequency, amplitude, floor, drawn), 0.0


def _near_axes(
    power: FloatArray, frequency_y: FloatArray, frequency_x: FloatArray, pixels_per_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Mark the values near an axis, and give each the level of noise around it."""
    fy, fx = np.abs(frequency_y)[:, None], frequency_x[None, :]
    radius = np.hypot(fy, fx)
    step_y, step_x = float(frequency_y[1]), float(frequency_x[1])
    finest = min(FINEST_CYCLES_PER_MM / pixels_per_mm, 0.4)
    tangent = np.tan(np.radians(AXIS_TOLERANCE_DEG))
    along_x = (fy <= fx * tangent + 0.5 * step_y) & (fx >= FEWEST_PERIODS * step_x)
    along_y = (fx <= fy * tangent + 0.5 * step_x) & (fy >= FEWEST_PERIODS * step_y)
    inside = radius <= finest
    step = max(step_y, step_x)
    ring = np.rint(radius / step).astype(np.intp)
    ring_level = _running_level(power, ring, inside)
    level = ring_level[np.minimum(ring, ring_level.size - 1)]
    for sector in (along_x & inside, along_y & inside):
        sector_level = _running_level(power, ring, sector)
        own = sector_level[np.minimum(ring, sector_level.size - 1)]
        level = np.where(sector, np.maximum(level, own), level)
    return (along_x | along_y) & inside, level


def _running_level(power: FloatArray, ring: FloatArray, among: FloatArray) -> FloatArray:
    """Mean noise power of each ring from the median of the rings around it."""
    chosen_ring, chosen = ring[among], power[among]
    order = np.argsort(chosen_ring, kind="stable")
    chosen_ring, chosen = chosen_ring[order], chosen[order]
    last = int(chosen_ring[-1]) if chosen_ring.size else 0
    level = np.zeros(last + 1)
    for r in range(last + 1):
        reach = max(6, r // 4)
        start, stop = np.searchsorted(chosen_ring, [r - reach, r + reach + 1])
        level[r] = np.median(chosen[start:stop]) / log(2) if stop > start else 0.0
    return level


def _refined(tapered: FloatArray, start: tuple[float, float]) -> tuple[float, float]:
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


def _fitted(
    residual: FloatArray, frequency: tuple[float, float], window_y: FloatArray, window_x: FloatArray
) -> tuple[float, FloatArray]:
    """Amplitude of the wave beside a plane, by weighted least squares, and the wave drawn."""
    height, width = residual.shape
    row = np.linspace(-1, 1, height)[:, None]
    column = np.linspace(-1, 1, width)[None, :]
    phase = (
        2
        * pi
        * (frequency[1] * np.arange(height)[:, None] + frequency[0] * np.arange(width)[None, :])
    )
    weight = np.ravel(window_y[:, None] * window_x[None, :])
    terms = [np.cos(phase), np.sin(phase), np.ones_like(phase), row + 0 * column, column + 0 * row]
    design = np.stack([np.ravel(t) for t in terms])
    normal = (design * weight) @ design.T
    answer = np.linalg.solve(normal, (design * weight) @ np.ravel(residual))
    drawn = answer[0] * terms[0] + answer[1] * terms[1]
    return float(np.hypot(answer[0], answer[1])), drawn


def _band(
    wave: _Wave, shape: tuple[int, ...], pixels_per_mm: float, lightness_slope: float
) -> Band:
    fx, fy = (f * pixels_per_mm for f in wave.frequency)
    frequency = hypot(fx, fy)
    direction: Literal["x", "y"] = "x" if abs(fx) >= abs(fy) else "y"
    length_mm = shape[1 if direction == "x" else 0] / pixels_per_mm
    angle = degrees(atan2(fy, fx)) if direction == "x" else degrees(atan2(-fx, fy))
    angle = (angle + 90) % 180 - 90
    # noise of a bin: variance of the amplitude is half the squared amplitude of noise alone;
    # the Hann window costs the frequency about 1.5 times the least possible error
    amplitude_error = 1.96 * (wave.floor / 2) ** 0.5
    frequency_error = 1.96 * 1.5 * (3 * wave.floor / 2) ** 0.5 / (pi * wave.amplitude * length_mm)
    strength = lightness_slope * wave.amplitude / 2**0.5
    half = lightness_slope * amplitude_error / 2**0.5
    return Band(
        period_mm=1 / frequency,
        period_interval=(
            1 / (frequency + frequency_error),
            1 / max(frequency - frequency_error, 1e-9),
        ),
        direction=direction,
        angle_deg=angle,
        amplitude=wave.amplitude,
        strength=strength,
        strength_interval=(max(0.0, strength - half), strength + half),
    )


def _hann(length: int) -> FloatArray:
    return np.asarray(np.hanning(length + 2)[1:-1])
