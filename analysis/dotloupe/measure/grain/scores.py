"""Scores of grain: variances behind apertures, bands, tiles and the eye, from a noise spectrum.

Graininess and mottle are analogous to those of the hardcopy standards: variation above and below
0.4 cycles/mm (ISO/IEC 24790 terms, quoted in ISO/IEC 22592-1:2024), of cells of 42.3 um in tiles
of 1.27 mm (ISO/IEC 13660, from memory). Density and lightness are taken about the mean
reflectance: dD = 0.4343 dR/R and dL* = (dL*/dR) dR, since the eye and a cell both blur light, not
density.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.measure.grain.even_tint import TILE_MM
from dotloupe.measure.grain.ring_spectrum import integrate
from dotloupe.measure.seeing import cycles_per_degree, dooley_shaw_transfer, lightness_slope

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.measure.grain.ring_spectrum import RingSpectrum

MOTTLE_BELOW = 0.4
"""Cycles/mm that part mottle from graininess."""

CELL_MM = 0.0423

APERTURE_UM = 48.0


@dataclass(frozen=True)
class Score:
    """A standard deviation with its 95 % interval."""

    value: float
    interval: Interval


def spread(rings: RingSpectrum, weight: FloatArray, unit: float) -> Score:
    """Standard deviation behind a power weight, times `unit` (density or L* per reflectance)."""
    integral = integrate(rings, weight)
    low, high = integral.interval
    return Score(
        unit * float(np.sqrt(max(integral.value, 0.0))),
        (unit * float(np.sqrt(low)), unit * float(np.sqrt(high))),
    )


def _density_per_reflectance(mean_reflectance: float) -> float:
    """|dD/dR| at a mean reflectance."""
    return 1 / (log(10) * mean_reflectance)


def lightness_per_reflectance(mean_reflectance: float) -> float:
    """dL*/dR at a mean reflectance relative to the paper."""
    return float(lightness_slope(mean_reflectance))


def aperture_transfer(frequency: ArrayLike, diameter_um: float) -> FloatArray:
    """Transfer of an even circular aperture, 2 J1(x)/x with x = pi d f."""
    x = np.pi * diameter_um / 1000 * np.asarray(frequency, dtype=float)
    safe = np.where(x == 0, 1, x)
    return np.asarray(np.where(x == 0, 1.0, 2 * scipy.special.j1(safe) / safe))


def box_power(frequency: FloatArray, side_mm: float) -> FloatArray:
    """Squared transfer of a square averaging box, averaged over directions.

    The array returned cannot be written to: tints of one size share it.
    """
    return _box_power(np.asarray(frequency, dtype=float).tobytes(), side_mm)


@lru_cache(maxsize=8)
def _box_power(frequencies: bytes, side_mm: float) -> FloatArray:
    frequency = np.frombuffer(frequencies)
    angle = (np.arange(32) + 0.5) * (np.pi / 4 / 32)  # an eighth of the circle holds them all
    along, across = np.cos(angle)[:, None], np.sin(angle)[:, None]
    transfer = np.sinc(side_mm * frequency * along) * np.sinc(side_mm * frequency * across)
    power = np.asarray(np.mean(np.square(transfer), axis=0))
    power.setflags(write=False)
    return power


def _below_mottle_limit(rings: RingSpectrum) -> FloatArray:
    """Share of each ring below 0.4 cycles/mm; a ring stands for one step of the spectrum."""
    return np.clip((MOTTLE_BELOW - rings.frequency) / rings.step + 0.5, 0, 1)


def graininess(rings: RingSpectrum, mean_reflectance: float) -> Score:
    """Density variation of 42.3 um cells above 0.4 cycles/mm."""
    weight = box_power(rings.frequency, CELL_MM) * (1 - _below_mottle_limit(rings))
    return spread(rings, weight, _density_per_reflectance(mean_reflectance))


def mottle(rings: RingSpectrum, mean_reflectance: float) -> Score:
    """Density variation below 0.4 cycles/mm."""
    return spread(rings, _below_mottle_limit(rings), _density_per_reflectance(mean_reflectance))


def tile_graininess(rings: RingSpectrum, mean_reflectance: float) -> Score:
    """Root mean variance of cells within 1.27 mm tiles, in density.

    Over a large area this is the spectrum behind the cell less the spectrum behind the tile.
    """
    weight = box_power(rings.frequency, CELL_MM) - box_power(rings.frequency, TILE_MM)
    return spread(rings, weight, _density_per_reflectance(mean_reflectance))


def tile_mottle(rings: RingSpectrum, mean_reflectance: float) -> Score:
    """Standard deviation of the means of 1.27 mm tiles, in density."""
    weight = box_power(rings.frequency, TILE_MM)
    return spread(rings, weight, _density_per_reflectance(mean_reflectance))


def rms_granularity(
    rings: RingSpectrum, mean_reflectance: float, aperture_um: float = APERTURE_UM
) -> Score:
    """1000 times the density deviation behind a circular aperture (48 um in the trade)."""
    weight = aperture_transfer(rings.frequency, aperture_um) ** 2
    return spread(rings, weight, 1000 * _density_per_reflectance(mean_reflectance))


def visual_graininess(
    rings: RingSpectrum, mean_reflectance: float, viewing_distance_mm: float
) -> Score:
    """Lightness variation behind the eye of Dooley and Shaw at a viewing distance, L* rms."""
    weight = eye_power(rings.frequency, viewing_distance_mm)
    return spread(rings, weight, lightness_per_reflectance(mean_reflectance))


def eye_power(frequency: FloatArray, viewing_distance_mm: float) -> FloatArray:
    """Squared visual transfer of Dooley and Shaw at cycles/mm on the print."""
    return np.square(dooley_shaw_transfer(cycles_per_degree(frequency, viewing_distance_mm)))
