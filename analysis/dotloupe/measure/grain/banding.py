"""Banding: periodic noise along one direction, told apart from grain.

A band is a single peak of the two-dimensional spectrum that stands over its neighbours by more
than chance gives; grain, streaks and mottle spread over many values. Near the axes, where heads and
feeds leave their marks, there are fewer places to look at, so weaker bands are found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, degrees, hypot, pi
from typing import TYPE_CHECKING, Literal

import numpy as np
import scipy

from dotloupe.measure.grain.noise_spectrum import detrended
from dotloupe.measure.grain.spectral_peak import search_levels
from dotloupe.measure.wave import Wave, coarser, drawn, fit_waves, on_fine_grid

if TYPE_CHECKING:
    from dotloupe.arrays import BoolArray, FloatArray, Interval

MOST_BANDS = 4
COARSE_PIXELS_PER_MM = 25.0
SINGLE_PEAK = 0.98
NOTHING_LEFT = 1e-8
"""Share of the variance below which what is left is the rounding of numbers."""


@dataclass(frozen=True)
class Band:
    """One sinusoidal component of banding.

    Attributes
    ----------
    period_mm, period_interval : float, (float, float)
    direction : "x" or "y"
        Along which it repeats, or nearly so: "x" for bands that run along y.
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


def find_banding(
    residual: FloatArray, pixels_per_mm: float, lightness_slope: float = 1.0
) -> Banding:
    """Find periodic noise.

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
    field = coarser(residual, factor)
    left = field
    waves: list[Wave] = []
    limit = 0.0
    while len(waves) < MOST_BANDS and left.var() > NOTHING_LEFT * field.var():
        wave, limit = _strongest_wave(left, pixels_per_mm / factor)
        if wave is None:
            break
        waves = fit_waves(field, [*waves, wave])
        left = detrended(field - drawn(waves, field.shape))
    if not waves:
        return Banding((), 0.0, (0.0, lightness_slope * limit / 2**0.5), ())
    waves = [on_fine_grid(w, factor) for w in waves]
    return _gathered(waves, residual.shape, pixels_per_mm, lightness_slope)


def in_second_shot(
    found: Banding, residual: FloatArray, pixels_per_mm: float, lightness_slope: float = 1.0
) -> tuple[Banding, tuple[Wave, ...]]:
    """Keep the bands that a second shot of the same print shows too; the rest are the camera's.

    Parameters
    ----------
    found : Banding
        In the first shot.
    residual : ndarray, shape (h, w)
        The second shot less its trend, alike to a pixel or so.

    Returns
    -------
    Banding
        As strong as in the first shot.
    tuple of Wave
        The same bands as they lie in the second shot.
    """
    if not found.waves:
        return found, ()
    factor = max(1, int(pixels_per_mm / COARSE_PIXELS_PER_MM))
    starts = [
        replace(w, frequency=(w.frequency[0] * factor, w.frequency[1] * factor))
        for w in found.waves
    ]
    seconds = [on_fine_grid(w, factor) for w in fit_waves(coarser(residual, factor), starts)]
    pairs = [
        (one, two)
        for one, two in zip(found.waves, seconds, strict=True)
        if 0.5 < two.amplitude / one.amplitude < 2
    ]
    if len(pairs) == len(found.waves):
        return found, tuple(seconds)
    kept = [one for one, _ in pairs]
    if not kept:
        return Banding((), 0.0, (0.0, found.strength_interval[1]), ()), ()
    both = _gathered(kept, residual.shape, pixels_per_mm, lightness_slope)
    return both, tuple(two for _, two in pairs)


def _gathered(
    waves: list[Wave], shape: tuple[int, ...], pixels_per_mm: float, lightness_slope: float
) -> Banding:
    waves = sorted(waves, key=lambda w: -w.amplitude)
    bands = tuple(_band(w, shape, pixels_per_mm, lightness_slope) for w in waves)
    total = hypot(*(b.strength for b in bands))
    error = hypot(*(b.strength * (b.strength_interval[1] - b.strength) for b in bands)) / total
    return Banding(bands, total, (max(0.0, total - error), total + error), tuple(waves))


def _strongest_wave(field: FloatArray, pixels_per_mm: float) -> tuple[Wave | None, float]:
    """Highest significant peak, its amplitude open; or None and the amplitude looked for."""
    window_y, window_x = (np.hanning(n + 2)[1:-1] for n in field.shape)
    power = np.square(np.abs(scipy.fft.rfft2(field * window_y[:, None] * window_x[None, :])))
    frequency_y, frequency_x = scipy.fft.fftfreq(field.shape[0]), scipy.fft.rfftfreq(field.shape[1])
    searched, level, needed = search_levels(power, frequency_y, frequency_x, pixels_per_mm)
    if not searched.any():
        return None, 0.0
    gain = float(window_y.sum() * window_x.sum())
    standing = searched & (power > level * needed) & _is_peak(power)
    alone = _single_peak(power, searched)
    if not (standing.any() or alone):
        return None, float((4 * (level * needed)[searched].max()) ** 0.5 / gain)
    at = np.unravel_index(
        int(np.argmax(np.where(searched if alone else standing, power, 0))), power.shape
    )
    energy = float(np.sum(window_y**2) * np.sum(window_x**2))
    floor = 4 * float(level[at]) / energy / field.size
    wave = Wave((float(frequency_x[at[1]]), float(frequency_y[at[0]])), 0.0, 0.0, floor)
    if alone and not standing[at]:
        left = detrended(field - fit_waves(field, [wave])[0].drawn(field.shape))
        if left.var() > (1 - SINGLE_PEAK) * field.var():
            return None, float((4 * (level * needed)[searched].max()) ** 0.5 / gain)
    return wave, 0.0


def _is_peak(power: FloatArray) -> BoolArray:
    """Where no neighbour has more: the foot of a peak beyond the frequencies searched is none."""
    beside = scipy.ndimage.maximum_filter(power, size=3, mode=("wrap", "nearest"))
    return np.asarray(power >= beside)


def _single_peak(power: FloatArray, searched: BoolArray) -> bool:
    """Whether nearly all power lies in the 5 x 5 values of one peak: a wave without noise."""
    peak = np.unravel_index(int(np.argmax(np.where(searched, power, 0))), power.shape)
    row, column = int(peak[0]), int(peak[1])
    rows = np.arange(row - 2, row + 3) % power.shape[0]
    columns = np.arange(max(column - 2, 0), min(column + 3, power.shape[1]))
    return bool(power[np.ix_(rows, columns)].sum() > SINGLE_PEAK * power[:, 1:].sum())


def _band(wave: Wave, shape: tuple[int, ...], pixels_per_mm: float, lightness_slope: float) -> Band:
    fx, fy = (f * pixels_per_mm for f in wave.frequency)
    frequency = hypot(fx, fy)
    direction: Literal["x", "y"] = "x" if abs(fx) >= abs(fy) else "y"
    length_mm = shape[1 if direction == "x" else 0] / pixels_per_mm
    angle = degrees(atan2(fy, fx)) if direction == "x" else degrees(atan2(-fx, fy))
    # least possible errors of a sine wave in noise (Rife and Boorstyn 1974): the variance of the
    # amplitude is half the squared amplitude that noise alone gives
    amplitude_error = 1.96 * (wave.floor / 2) ** 0.5
    frequency_error = 1.96 * (3 * wave.floor / 2) ** 0.5 / (pi * wave.amplitude * length_mm)
    strength = lightness_slope * wave.amplitude / 2**0.5
    half = lightness_slope * amplitude_error / 2**0.5
    return Band(
        period_mm=1 / frequency,
        period_interval=(
            1 / (frequency + frequency_error),
            1 / max(frequency - frequency_error, 1e-9),
        ),
        direction=direction,
        angle_deg=(angle + 90) % 180 - 90,
        amplitude=wave.amplitude,
        strength=strength,
        strength_interval=(max(0.0, strength - half), strength + half),
    )
