"""How far off an eye can tell two responses or two grains apart: thresholds after Barten.

The eye is taken as channels an octave wide. In a channel two contrasts are told apart where they
differ by the threshold of Barten's observer and a tenth of what both have (Weber's share, from
memory). A model of a keen eye in good light, not a jury.
"""

from __future__ import annotations

from math import log, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.seeing import barten_pupil_mm, barten_sensitivity

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

PAPER_LUMINANCE = 140.0
"""Of white paper under 500 lx, cd/m^2 (derived: 500 lx times 0.88 over pi)."""

WEBER = 0.10
EDGE_CONTRAST = 0.9
"""Michelson contrast of black ink beside blank paper."""

OCTAVE_OF_EDGE = 0.4208
"""Peak of an edge in a channel an octave wide, over its contrast.

Derived: the largest of 2/pi times the integral of sin(2 pi f x) / f over the octave.
"""

CONTOUR_MM = 10.0
EVEN_AREA_MM = 100.0
MEAN_REFLECTANCE_OF_EDGE = 0.5
DISTANCES_MM: FloatArray = np.geomspace(100.0, 20_000.0, 240)
FREQUENCIES: FloatArray = np.geomspace(0.02, 30.0, 240)
"""Cycles/mm on the print."""


def edge_strength(mtf: FloatArray, other_mtf: FloatArray) -> FloatArray:
    """How clearly a contour's sharpness differs, 1 where it is just seen, at `DISTANCES_MM`.

    Parameters
    ----------
    mtf, other_mtf : ndarray (n,)
        At `FREQUENCIES`.

    Notes
    -----
    A contour of a centimetre between black and paper. Each channel sees of it a strip as long as
    the contour and as wide as one period, which is the area that Barten's observer sums over.
    """
    contrast = EDGE_CONTRAST * OCTAVE_OF_EDGE
    per_degree = DISTANCES_MM[:, None] * pi / 180
    cycles_per_degree = FREQUENCIES * per_degree
    strip_deg = np.sqrt(CONTOUR_MM / per_degree / cycles_per_degree)
    sensitivity = _sensitivity(cycles_per_degree, strip_deg, MEAN_REFLECTANCE_OF_EDGE)
    return _told_apart(contrast * mtf * sensitivity, contrast * other_mtf * sensitivity)


def grain_strength(
    octave_rms: FloatArray, other_octave_rms: FloatArray, mean_reflectance: float
) -> FloatArray:
    """How clearly two grains differ on an even area, 1 where it is just seen, at `DISTANCES_MM`.

    Parameters
    ----------
    octave_rms, other_octave_rms : ndarray (n,)
        Relative rms of the reflectance in the octave about each of `FREQUENCIES`.
    mean_reflectance : float
        Of the tint, relative to the paper.
    """
    per_degree = DISTANCES_MM[:, None] * pi / 180
    area_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / DISTANCES_MM))[:, None]
    sensitivity = _sensitivity(FREQUENCIES * per_degree, area_deg, mean_reflectance)
    # a sine wave at threshold has a peak of the root of two times its rms
    return _told_apart(sqrt(2) * octave_rms * sensitivity, sqrt(2) * other_octave_rms * sensitivity)


def _sensitivity(
    cycles_per_degree: FloatArray, field_deg: FloatArray, mean_reflectance: float
) -> FloatArray:
    luminance = PAPER_LUMINANCE * min(mean_reflectance, 1.0)
    # the pupil is set by the print, not by the strip that is looked at
    print_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / DISTANCES_MM))[:, None]
    pupil = barten_pupil_mm(luminance, print_deg)
    return barten_sensitivity(
        cycles_per_degree, luminance=luminance, field_deg=field_deg, pupil_mm=pupil
    )


def _told_apart(first: FloatArray, second: FloatArray) -> FloatArray:
    """Difference of two contrasts, in thresholds, over what is needed; the clearest channel."""
    needed = 1 + WEBER * np.minimum(first, second)
    strength: FloatArray = np.max(np.abs(first - second) / needed, axis=1)
    return strength


def farthest_mm(strength: FloatArray) -> float:
    """Largest of `DISTANCES_MM` at which the strength reaches 1, between samples; 0 where none."""
    seen = np.flatnonzero(strength >= 1)
    if not seen.size:
        return 0.0
    last = int(seen[-1])
    if last == len(DISTANCES_MM) - 1:
        return float(DISTANCES_MM[-1])
    above, below = np.log(strength[last]), np.log(max(float(strength[last + 1]), 1e-300))
    share = above / (above - below)
    return float(DISTANCES_MM[last] * (DISTANCES_MM[last + 1] / DISTANCES_MM[last]) ** share)


def gaussian_mtf(mtf50: float) -> FloatArray:
    """MTF at `FREQUENCIES` of the Gaussian blur that has this MTF50, in cycles/mm."""
    return np.exp(-log(2) * (FREQUENCIES / mtf50) ** 2)


def octave_rms(frequency: FloatArray, noise_power: FloatArray) -> FloatArray:
    """Root of the variance in the octave about each of `FREQUENCIES`, of an isotropic spectrum.

    Parameters
    ----------
    frequency : ndarray (m,)
        Rising, cycles/mm. Below the first the power is carried on flat, above the last it is 0.
    noise_power : ndarray (m,)
        In the square of any unit times mm^2; the result is in that unit.
    """
    fine = np.geomspace(FREQUENCIES[0] / 2, FREQUENCIES[-1] * 2, 2000)
    power = np.maximum(np.interp(fine, frequency, noise_power, right=0.0), 0)
    rings = 2 * pi * fine * power
    steps = np.diff(fine) * (rings[1:] + rings[:-1]) / 2
    total = np.concatenate([[0.0], np.cumsum(steps)])
    upper = np.interp(FREQUENCIES * sqrt(2), fine, total)
    lower = np.interp(FREQUENCIES / sqrt(2), fine, total)
    return np.sqrt(np.maximum(upper - lower, 0))
