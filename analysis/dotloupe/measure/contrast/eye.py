"""The least contrast of a grating that a keen eye sees, with the print's grain as masking noise."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.seeing import (
    EVEN_AREA_MM,
    barten_pupil_mm,
    barten_sensitivity,
    cycles_per_degree,
    print_luminance,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

DETAIL_MM = 10.0
"""Side of the area of detail that is looked at."""
MASKING = 3.0
"""k of Barten 1999: signal over noise at which half of the gratings are seen."""
LARGEST_DEG, MOST_CYCLES = 12.0, 15.0
"""Field and number of periods that an eye sums over at most (Barten 1999)."""


def least_modulation_seen(
    frequency: FloatArray,
    *,
    mean_reflectance: float,
    grain_power_mm2: FloatArray,
    viewing_distance_mm: float,
) -> FloatArray:
    """Modulation on the print that a keen eye sees half of the time.

    Parameters
    ----------
    frequency : ndarray of shape (n,)
        Cycles/mm on the print.
    mean_reflectance : float
        Of the tint.
    grain_power_mm2 : ndarray of shape (n,)
        Power of the grain at each frequency, of contrast: relative to the squared mean.
    viewing_distance_mm : float

    Returns
    -------
    ndarray of shape (n,)

    Notes
    -----
    m^2 = 1/S^2 + k^2 m_n^2, where m_n^2 = 2 W (1/X^2 + 1/X_max^2 + (u/N)^2): the contrast that
    noise of power W has in the area that the eye sums over (Barten, *Contrast Sensitivity of the
    Human Eye*, SPIE 1999, chapter 2; from memory). Grain does not change with time, so time does
    not average it.
    """
    degree_mm = viewing_distance_mm * pi / 180
    u = cycles_per_degree(frequency, viewing_distance_mm)
    field_deg = DETAIL_MM / degree_mm
    print_deg = float(np.degrees(2 * np.arctan(EVEN_AREA_MM / 2 / viewing_distance_mm)))
    luminance = print_luminance(mean_reflectance)
    sensitivity = barten_sensitivity(
        u,
        luminance=luminance,
        field_deg=field_deg,
        pupil_mm=barten_pupil_mm(luminance, print_deg),
    )
    per_area = 1 / field_deg**2 + 1 / LARGEST_DEG**2 + (u / MOST_CYCLES) ** 2
    noise = 2 * np.asarray(grain_power_mm2) / degree_mm**2 * per_area
    return np.asarray(np.sqrt(1 / sensitivity**2 + MASKING**2 * noise))
