"""What an eye sees of a print: lightness, viewing angle and published contrast sensitivities.

Every function is plain: arrays in, arrays of the same shape out. Frequencies on the retina are in
cycles per degree of visual angle, on the print in cycles/mm.

Sources
-------
- CIE 015:2018, L* of the CIE 1976 space.
- Barten, *Contrast Sensitivity of the Human Eye and Its Effects on Image Quality*, SPIE 1999.
- Dooley and Shaw, J. Appl. Photogr. Eng. 5 (1979) 190: from memory.
- Zhang and Wandell, J. Soc. Inf. Display 5 (1997) 61 (spatial CIELAB): from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike

    from dotloupe.arrays import FloatArray

OpponentChannel = Literal["luminance", "red-green", "blue-yellow"]

SCIELAB_KERNELS: Mapping[OpponentChannel, tuple[tuple[float, float], ...]] = {
    "luminance": ((0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)),
    "red-green": ((0.531, 0.0392), (0.330, 0.494)),
    "blue-yellow": ((0.488, 0.0536), (0.371, 0.386)),
}
"""Weight and spread (degrees) of the Gaussians of each opponent channel (Zhang and Wandell)."""

PAPER_LUMINANCE = 140.0
"""Of white paper under 500 lx, cd/m^2 (derived: 500 lx times 0.88 over pi)."""

EVEN_AREA_MM = 100.0
"""Side of the even area (a sky, a wall) in the print that is looked at."""

_LINEAR_BELOW = (6 / 29) ** 3  # reflectance under which L* is a straight line (CIE 015)


def cycles_per_degree(frequency: ArrayLike, viewing_distance_mm: float) -> FloatArray:
    """Turn cycles/mm on the print into cycles per degree at the eye (small-angle form)."""
    return np.asarray(frequency, dtype=float) * (viewing_distance_mm * pi / 180)


def cycles_per_mm(frequency_cpd: ArrayLike, viewing_distance_mm: float) -> FloatArray:
    """Turn cycles per degree at the eye into cycles/mm on the print (small-angle form)."""
    return np.asarray(frequency_cpd, dtype=float) / (viewing_distance_mm * pi / 180)


def print_luminance(mean_reflectance: float) -> float:
    """Luminance of a tint in a room light of 500 lx, cd/m^2."""
    return PAPER_LUMINANCE * min(mean_reflectance, 1.0)


def lightness(reflectance: ArrayLike) -> FloatArray:
    """CIE L* of a reflectance relative to the white (white = 1.0 gives 100)."""
    y = np.asarray(reflectance, dtype=float)
    root = np.cbrt(np.maximum(y, _LINEAR_BELOW))
    return np.where(y > _LINEAR_BELOW, 116 * root - 16, y * (29 / 3) ** 3)


def lightness_slope(reflectance: ArrayLike) -> FloatArray:
    """Return dL*/dY of `lightness`: what one unit of small reflectance change does to L*."""
    y = np.asarray(reflectance, dtype=float)
    root = np.cbrt(np.maximum(y, _LINEAR_BELOW))
    return np.where(y > _LINEAR_BELOW, (116 / 3) / root**2, (29 / 3) ** 3)


def barten_pupil_mm(luminance: ArrayLike, field_deg: ArrayLike) -> FloatArray:
    """Pupil diameter in mm at a luminance (cd/m^2) of a square field, after Barten 1999."""
    light = np.asarray(luminance, dtype=float) * np.square(np.asarray(field_deg, dtype=float))
    return np.asarray(5 - 3 * np.tanh(0.4 * np.log10(light / 40**2)))


def barten_sensitivity(
    frequency_cpd: ArrayLike,
    *,
    luminance: ArrayLike = 20.0,
    field_deg: ArrayLike = 60.0,
    pupil_mm: ArrayLike = 2.1,
) -> FloatArray:
    """Contrast sensitivity of the standard observer, both eyes, after Barten 1999.

    Parameters
    ----------
    frequency_cpd : array_like
        Cycles per degree, above zero.
    luminance : array_like
        Mean luminance in cd/m^2.
    field_deg : array_like
        Side of the square field looked at, in degrees.
    pupil_mm : array_like
        Pupil diameter; `barten_pupil_mm` gives it from luminance and field.

    Returns
    -------
    ndarray
        One over the modulation (Michelson contrast) that is seen half of the time.
    """
    return BartenField.of(frequency_cpd, field_deg).sensitivity(luminance, pupil_mm)


@dataclass(frozen=True)
class BartenField:
    """Barten's observer before a field in whatever light: what many tints have in common.

    Attributes
    ----------
    squared_cpd : ndarray
        Squares of the frequencies, cycles per degree.
    per_area : ndarray
        One over the area that the eye sums over, in square degrees.
    neural_noise : ndarray
        Its spectral density behind the eye's inhibition, in s deg^2.
    """

    squared_cpd: FloatArray
    per_area: FloatArray
    neural_noise: FloatArray

    @classmethod
    def of(cls, frequency_cpd: ArrayLike, field_deg: ArrayLike) -> BartenField:
        """Prepare for frequencies in cycles per degree and sides of square fields in degrees."""
        neural_noise, inhibition_cpd, largest_deg, most_cycles = 3e-8, 7.0, 12.0, 15.0
        squared = np.square(np.asarray(frequency_cpd, dtype=float))
        field = np.asarray(field_deg, dtype=float)
        per_area = 1 / field**2 + 1 / largest_deg**2 + squared / most_cycles**2
        return cls(squared, per_area, neural_noise / -np.expm1(-squared / inhibition_cpd**2))

    def sensitivity(self, luminance: ArrayLike, pupil_mm: ArrayLike) -> FloatArray:
        """Contrast sensitivity in a luminance, cd/m^2, with a pupil."""
        snr, integration_s, efficiency = 3.0, 0.1, 0.03
        photons = 1.2274e6  # per second, square degree and troland
        pupil = np.asarray(pupil_mm, dtype=float)
        blur_deg = np.hypot(0.5 / 60, 0.08 / 60 * pupil)
        stiles_crawford = 1 - (pupil / 9.7) ** 2 + (pupil / 12.4) ** 4
        trolands = pi * pupil**2 / 4 * np.asarray(luminance, dtype=float) * stiles_crawford
        optics = np.asarray(-2 * (pi * blur_deg) ** 2 * self.squared_cpd)
        noise = np.asarray(1 / (efficiency * photons * trolands) + self.neural_noise)
        # in place: tables of this size take longer to come by than to fill
        noise *= self.per_area
        noise *= snr**2 * 2 / integration_s
        np.exp(optics, out=optics)
        optics /= np.sqrt(noise, out=noise)
        return optics


def dooley_shaw_transfer(frequency_cpd: ArrayLike) -> FloatArray:
    """Visual transfer of Dooley and Shaw 1979 (from memory), 1.0 at its peak near 5.4."""
    f = np.asarray(frequency_cpd, dtype=float)
    return 5.05 * np.exp(-0.138 * f) * -np.expm1(-0.1 * f)


def scielab_transfer(frequency_cpd: ArrayLike, channel: OpponentChannel) -> FloatArray:
    """Transfer of one opponent channel of spatial CIELAB, 1.0 at zero frequency (from memory).

    The Fourier transform of the sum of Gaussians exp(-r^2 / spread^2), each of the volume that
    `SCIELAB_KERNELS` gives it, scaled so that a uniform colour passes unchanged.
    """
    f = np.asarray(frequency_cpd, dtype=float)
    kernel = SCIELAB_KERNELS[channel]
    total = sum(weight for weight, _ in kernel)
    out = np.zeros_like(f)
    for weight, spread_deg in kernel:
        out += weight / total * np.exp(-((pi * spread_deg * f) ** 2))
    return out
