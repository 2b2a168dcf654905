"""Banding: periodic noise along one direction, told apart from grain.

A band is a single peak near an axis of the two-dimensional spectrum that stands over its
neighbours by more than chance gives; grain, streaks and mottle spread over many values.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees, hypot, pi
from typing import TYPE_CHECKING, Literal

import numpy as np
import scipy.fft as sfft

from dotloupe.measure.spectral_peak import near_axes
from dotloupe.measure.wave import Wave, coarser, fitted_wave, on_fine_grid, refined_frequency

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray, Interval

MOST_BANDS = 4
COARSE_PIXELS_PER_MM = 25.0


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
    waves : tuple of Wave
        The same bands as they lie in the pixels.
    """

    bands: tuple[Band, ...]
    strength: float
    strength_interval: Interval
    waves: tuple[Wave, ...]

    def drawn(self, shape: tuple[int, int]) -> FloatArray:
        """Draw the bands in reflectance, shape (h, w), single precision."""
        out = np.zeros(shape, dtype=np.float32)
        for wave in self.waves:
            out += wave.drawn(shape)
        return out


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
        Periods from half of the region's side down to 0.125 mm.
    """
    factor = max(1, int(pixels_per_mm / COARSE_PIXELS_PER_MM))
    left = coarser(residual, factor)
    found: list[Wave] = []
    limit = 0.0
    for _ in range(MOST_BANDS):
        wave, limit = _strongest_wave(left, pixels_per_mm / factor)
        if wave is None:
            break
        found.append(wave)
        left = left - wave.drawn(left.shape)
    if not found:
        return Banding((), 0.0, (0.0, lightness_slope * limit / 2**0.5), ())
    waves = [on_fine_grid(w, factor) for w in found]
    waves.sort(key=lambda w: -w.amplitude)
    bands = tuple(_band(w, residual.shape, pixels_per_mm, lightness_slope) for w in waves)
    total = hypot(*(b.strength for b in bands))
    error = hypot(*(b.strength * (b.strength_interval[1] - b.strength) for b in bands)) / total
    return Banding(bands, total, (max(0.0, total - error), total + error), tuple(waves))


def _strongest_wave(residual: FloatArray, pixels_per_mm: float) -> tuple[Wave | None, float]:
    """Highest significant peak near an axis, or None and the amplitude that was looked for."""
    window_y, window_x = (_hann(n) for n in residual.shape)
    tapered = residual * window_y[:, None] * window_x[None, :]
    power = np.square(np.abs(sfft.rfft2(tapered)))
    frequency_y = sfft.fftfreq(residual.shape[0])
    frequency_x = sfft.rfftfreq(residual.shape[1])
    near, level, needed = near_axes(power, frequency_y, frequency_x, pixels_per_mm)
    gain = float(window_y.sum() * window_x.sum())
    if not near.any():
        return None, 0.0
    over = np.where(near, power / np.maximum(level * needed, 1e-300), 0)
    at = np.unravel_index(int(np.argmax(over)), over.shape)
    if over[at] < 1:
        return None, float((4 * (level * needed)[near].max()) ** 0.5 / gain)
    start = (float(frequency_x[at[1]]), float(frequency_y[at[0]]))
    frequency = refined_frequency(tapered, start)
    cosine, sine = fitted_wave(residual, frequency, window_y, window_x)
    return Wave(frequency, cosine, sine, 4 * float(level[at]) / gain**2), 0.0


def _band(wave: Wave, shape: tuple[int, ...], pixels_per_mm: float, lightness_slope: float) -> Band:
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
