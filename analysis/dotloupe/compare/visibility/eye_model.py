"""What an eye makes of a contour's sharpness and of grain: contrasts over thresholds, after Barten.

The eye is taken as channels an octave wide. In a channel two contrasts are told apart where they
differ by the threshold of Barten's observer and a tenth of what both have (Weber's share; the tenth
is from memory). A model of a keen eye in good light, not a jury.
"""

from __future__ import annotations

from math import log, log1p, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure import EVEN_AREA_MM, barten_pupil_mm, barten_sensitivity, print_luminance

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

WEBER = 0.10
EDGE_CONTRAST = 0.9
"""Michelson contrast of black ink beside blank paper."""

OCTAVE_OF_EDGE = 0.4208
"""Peak of an edge in a channel an octave wide, over its contrast.

Derived: the largest of 2/pi times the integral of sin(2 pi f x) / f over the octave.
"""

CONTOUR_MM = 10.0
MEAN_REFLECTANCE_OF_EDGE = 0.5
FREQUENCIES: FloatArray = np.geomspace(0.02, 30.0, 160)
"""Cycles/mm on the print."""


def contrast_steps(thresholds: FloatArray) -> FloatArray:
    """Just seen steps from no contrast up to one of so many thresholds.

    Two contrasts lie a step apart exactly where they differ by one threshold and `WEBER` of the
    lower: the sum of Weber's law and a fixed threshold, integrated as Fechner did.
    """
    return np.asarray(np.log1p(WEBER * thresholds) / log1p(WEBER))


def edge_thresholds(distances_mm: FloatArray) -> FloatArray:
    """Contrast of a perfectly sharp contour in each channel, in thresholds.

    Parameters
    ----------
    distances_mm : ndarray (n,)

    Returns
    -------
    ndarray (n, k)
        At `FREQUENCIES`; a blurred contour has that times its MTF.

    Notes
    -----
    A contour of a centimetre between black and paper. Each channel sees of it a strip as long as
    the contour and as wide as one period, which is the area that Barten's observer sums over.
    """
    per_degree = distances_mm[:, None] * pi / 180
    cycles_per_degree = FREQUENCIES * per_degree
    strip_deg = np.sqrt(CONTOUR_MM / per_degree / cycles_per_degree)
    sensitivity = _sensitivity(cycles_per_degree, strip_deg, distances_mm, MEAN_REFLECTANCE_OF_EDGE)
    return EDGE_CONTRAST * OCTAVE_OF_EDGE * sensitivity


def grain_thresholds(
    octave_rms: FloatArray, mean_reflectance: float, distances_mm: FloatArray
) -> FloatArray:
    """Contrast of grain on an even area in each channel, in thresholds.

    Parameters
    ----------
    octave_rms : ndarray (k,)
        Relative rms of the reflectance in the octave about each of `FREQUENCIES`.
    mean_reflectance : float
        Of the tint, relative to the paper.
    distances_mm : ndarray (n,)

    Returns
    -------
    ndarray (n, k)
    """
    per_degree = distances_mm[:, None] * pi / 180
    area_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / distances_mm))[:, None]
    sensitivity = _sensitivity(FREQUENCIES * per_degree, area_deg, distances_mm, mean_reflectance)
    # a sine wave at threshold has a peak of the root of two times its rms
    return sqrt(2) * octave_rms * sensitivity


def _sensitivity(
    cycles_per_degree: FloatArray,
    field_deg: FloatArray,
    distances_mm: FloatArray,
    mean_reflectance: float,
) -> FloatArray:
    luminance = print_luminance(mean_reflectance)
    # the pupil is set by the print, not by the strip that is looked at
    print_deg = np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / distances_mm))[:, None]
    pupil = barten_pupil_mm(luminance, print_deg)
    return barten_sensitivity(
        cycles_per_degree, luminance=luminance, field_deg=field_deg, pupil_mm=pupil
    )


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
