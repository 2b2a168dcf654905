"""Up to which distance grain could be seen.

The eye is taken as channels an octave wide (Campbell and Robson, J. Physiol. 197 (1968) 551;
Blakemore and Campbell, J. Physiol. 203 (1969) 237; both from memory), each with the contrast
sensitivity of Barten's standard observer. Grain could be seen where the contrast in some channel
reaches the rms contrast of a sine wave at threshold.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.grain.ring_spectrum import integrate, radial_mean
from dotloupe.measure.grain.scores import Score
from dotloupe.measure.level_crossing import last_above
from dotloupe.measure.seeing import (
    EVEN_AREA_MM,
    barten_pupil_mm,
    barten_sensitivity,
    cycles_per_degree,
    print_luminance,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.measure.grain.ring_spectrum import RingSpectrum

NEAREST_MM, FARTHEST_MM = 100.0, 20_000.0


def visible_distance(rings: RingSpectrum, mean_reflectance: float) -> Score:
    """Distance in mm beyond which the grain of a tint cannot be seen.

    Frequencies below one cycle over the region count for nothing in the value, and as flat as the
    lowest ones measured in the upper end of the interval.

    Returns
    -------
    Score
        0 where it cannot be seen from 100 mm, the nearest anyone focuses at.
    """
    radial = radial_mean(rings)
    frequency = np.geomspace(0.005, float(radial.frequency[-1]), 600)
    flat = np.maximum(np.interp(frequency, radial.frequency, radial.power), 0)
    known = np.where(frequency >= rings.lowest_frequency, flat, 0)
    distances = np.geomspace(NEAREST_MM, FARTHEST_MM, 200)
    seen = _seen_power(frequency, distances, mean_reflectance)
    strength, deciding = _strength(frequency, known * seen)
    most, deciding_most = _strength(frequency, flat * seen)
    value = _seen_to(distances, strength)
    at = int(np.argmin(np.abs(distances - max(value, NEAREST_MM))))
    least_factor = _band_error(rings, float(deciding[at]), 0)
    most_factor = _band_error(rings, float(deciding_most[at]), 1)
    nearest = _seen_to(distances, strength * least_factor)
    farthest = _seen_to(distances, most * most_factor)
    return Score(value, (min(nearest, value), max(farthest, value)))


def _band_error(rings: RingSpectrum, centre: float, end: int) -> float:
    """End of the interval of the deviation in an octave, over the deviation itself."""
    away = np.abs(np.log2(np.maximum(rings.frequency, 1e-9) / centre))
    channel = (away <= 0.5).astype(float)
    if not channel.any():
        channel = (away <= away.min()).astype(float)
    integral = integrate(rings, channel)
    return sqrt(integral.interval[end] / integral.value) if integral.value > 0 else 1.0


def _seen_power(
    frequency: FloatArray, distances: FloatArray, mean_reflectance: float
) -> FloatArray:
    """Squared contrast, per unit of ln f and in units of threshold, of unit noise power.

    Each frequency of isotropic power counts by its own sensitivity: (distances, frequencies).
    """
    luminance = print_luminance(mean_reflectance)
    field_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / distances))[:, None]
    sensitivity = barten_sensitivity(
        cycles_per_degree(frequency[None, :], 1.0) * distances[:, None],
        luminance=luminance,
        field_deg=field_deg,
        pupil_mm=barten_pupil_mm(luminance, field_deg),
    )
    return 2 * pi * (frequency / mean_reflectance) ** 2 * sensitivity**2


def _strength(frequency: FloatArray, density: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Strongest channel at each distance in units of threshold, and its middle frequency.

    `density` is squared contrast in units of threshold, per unit of ln f.
    """
    step = float(np.log(frequency[1] / frequency[0]))
    sums = np.cumsum(density, axis=1) * step
    width = round(np.log(2) / step)
    octaves = sums.copy()
    octaves[:, width:] -= sums[:, :-width]
    best = octaves.argmax(axis=1)
    strength = np.sqrt(2 * np.take_along_axis(octaves, best[:, None], axis=1)[:, 0])
    return strength, frequency[np.maximum(best - width // 2, 0)]


def _seen_to(distances: FloatArray, strength: FloatArray) -> float:
    """Largest distance with a strength of threshold or more; 0 where none."""
    logarithm = np.log(np.maximum(strength, 1e-300))
    farthest = last_above(distances, logarithm, 0.0, geometric=True)
    return 0.0 if np.isnan(farthest) else farthest
