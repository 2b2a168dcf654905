"""Up to which distance grain could be seen.

The eye is taken as channels an octave wide (Campbell and Robson, J. Physiol. 197 (1968) 551;
Blakemore and Campbell, J. Physiol. 203 (1969) 237; both from memory), each with the contrast
sensitivity of Barten's standard observer. Grain could be seen where the contrast in some channel
reaches the rms contrast of a sine wave at threshold.
"""

from __future__ import annotations

from functools import lru_cache
from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.grain.ring_spectrum import integrate
from dotloupe.measure.grain.scores import Score
from dotloupe.measure.level_crossing import last_above
from dotloupe.measure.seeing import (
    EVEN_AREA_MM,
    BartenField,
    barten_pupil_mm,
    cycles_per_degree,
    print_luminance,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.measure.grain.ring_spectrum import RadialSpectrum, RingSpectrum

NEAREST_MM, FARTHEST_MM = 100.0, 20_000.0


def visible_distance(rings: RingSpectrum, radial: RadialSpectrum, mean_reflectance: float) -> Score:
    """Distance in mm beyond which the grain of a tint cannot be seen.

    Frequencies below one cycle over the region count for nothing in the value, and as flat as the
    lowest ones measured in the upper end of the interval.

    Parameters
    ----------
    rings : RingSpectrum
    radial : RadialSpectrum
        The radial mean of `rings`.
    mean_reflectance : float

    Returns
    -------
    Score
        0 where it cannot be seen from 100 mm, the nearest anyone focuses at.
    """
    frequency, distances, field_deg, observer = _viewing(float(radial.frequency[-1]))
    flat = np.maximum(np.interp(frequency, radial.frequency, radial.power), 0)
    luminance = print_luminance(mean_reflectance)
    sensitivity = observer.sensitivity(luminance, barten_pupil_mm(luminance, field_deg))
    # squared contrast per unit of ln f: isotropic power, each frequency by its own sensitivity
    contrast = 2 * pi * (frequency / mean_reflectance) ** 2 * flat
    sensitivity *= sensitivity
    sensitivity *= contrast
    sums = np.cumsum(sensitivity, axis=1)
    unknown = int(np.searchsorted(frequency, rings.lowest_frequency))
    known = np.maximum(sums - sums[:, unknown - 1 : unknown], 0.0) if unknown else sums
    strength, deciding = _strength(frequency, known)
    most, deciding_most = _strength(frequency, sums)
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


@lru_cache(maxsize=4)
def _viewing(highest: float) -> tuple[FloatArray, FloatArray, FloatArray, BartenField]:
    """Frequencies up to the highest, distances, and at each the field and what an observer sees.

    Field and observer have the shape (distances, 1) and (distances, frequencies); tints of one
    size share them.
    """
    frequency = np.geomspace(0.005, highest, 600)
    distances = np.geomspace(NEAREST_MM, FARTHEST_MM, 200)
    field_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / distances))[:, None]
    cpd = cycles_per_degree(frequency, 1.0) * distances[:, None]
    return frequency, distances, field_deg, BartenField.of(cpd, field_deg)


def _strength(frequency: FloatArray, sums: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Strongest channel at each distance in units of threshold, and its middle frequency.

    `sums`, up to each frequency, are of squared contrast in units of threshold, per unit of ln f.
    """
    step = float(np.log(frequency[1] / frequency[0]))
    width = round(np.log(2) / step)
    octaves = sums.copy()
    octaves[:, width:] -= sums[:, :-width]
    best = octaves.argmax(axis=1)
    strength = np.sqrt(2 * step * octaves[np.arange(len(best)), best])
    return strength, frequency[np.maximum(best - width // 2, 0)]


def _seen_to(distances: FloatArray, strength: FloatArray) -> float:
    """Largest distance with a strength of threshold or more; 0 where none."""
    logarithm = np.log(np.maximum(strength, 1e-300))
    farthest = last_above(distances, logarithm, 0.0, geometric=True)
    return 0.0 if np.isnan(farthest) else farthest
