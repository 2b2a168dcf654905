"""Contrast of square waves turned into the modulation of sine waves, by Coltman's series.

The series is of J. W. Coltman, "The specification of imaging properties by response to a sine wave
input", J. Opt. Soc. Am. 44 (1954) 468; from memory:

    M(f) = pi/4 [C(f) + C(3f)/3 - C(5f)/5 + C(7f)/7 + C(11f)/11 - C(13f)/13 - C(15f)/15 - ...]

Its coefficients are those of the inverse of the square wave's own series, C(f) = 4/pi [M(f) -
M(3f)/3 + M(5f)/5 - ...]: by Moebius inversion, mu(k) chi(k)/k for odd k, chi being +1 for
k = 1 and -1 for k = 3 modulo 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError

LAST_TERM = 49


@dataclass(frozen=True)
class SineModulation:
    """Modulation of sine waves, from the contrast of square waves.

    Attributes
    ----------
    frequency, modulation : ndarray of shape (n,)
        Cycles/mm, and the modulation there.
    modulation_low, modulation_high : ndarray of shape (n,)
        95 % interval from the contrasts' own intervals, widened by what harmonics beyond the
        highest group could hold at most: the contrast of that group.
    """

    frequency: FloatArray
    modulation: FloatArray
    modulation_low: FloatArray
    modulation_high: FloatArray


def coltman_coefficients(last: int = LAST_TERM) -> tuple[FloatArray, FloatArray]:
    """Odd orders k up to `last` and their coefficients mu(k) chi(k)/k, zeros left out."""
    order = np.arange(1, last + 1)
    moebius = np.zeros(last + 1, dtype=int)
    moebius[1] = 1
    for k in range(1, last // 2 + 1):
        moebius[2 * k :: k] -= moebius[k]
    sign = np.where(order % 4 == 1, 1, -1) * moebius[1:]
    kept = (order % 2 == 1) & (sign != 0)
    return order[kept].astype(float), sign[kept] / order[kept]


def coltman(
    frequency: Sequence[float] | FloatArray,
    contrast: Sequence[float] | FloatArray,
    contrast_error: Sequence[float] | FloatArray | None = None,
) -> SineModulation:
    """Turn square-wave contrast into sine-wave modulation.

    Parameters
    ----------
    frequency : array_like of shape (n,)
        Frequencies of the groups, rising, in lp/mm.
    contrast : array_like of shape (n,)
        Their contrast relative to large areas, so that it goes to 1 at low frequency.
    contrast_error : array_like of shape (n,), optional
        Half width of the contrasts' 95 % intervals.

    Returns
    -------
    SineModulation

    Raises
    ------
    RegionError
        Fewer than two groups, frequencies that do not rise, or values that are not numbers.

    Notes
    -----
    Contrast between groups is interpolated over the logarithm of the frequency; beyond the last
    group it counts as zero.
    """
    f = np.asarray(frequency, dtype=float)
    c = np.asarray(contrast, dtype=float)
    error = np.zeros_like(c) if contrast_error is None else np.asarray(contrast_error, dtype=float)
    if f.ndim != 1 or len(f) < 2 or f.shape != c.shape or f.shape != error.shape:
        raise RegionError("Coltman's series: at least two groups, one contrast for each, needed.")
    if not (np.isfinite([f, c, error]).all() and f[0] > 0 and (np.diff(f) > 0).all()):
        raise RegionError("Coltman's series: frequencies must rise from above 0, all be numbers.")
    order, coefficient = coltman_coefficients()
    at = np.multiply.outer(order, f)
    known = at <= f[-1] * (1 + 1e-9)
    share = np.where(known[..., None], _interpolation(f, np.minimum(at, f[-1])), 0.0)
    by_group = np.pi / 4 * np.tensordot(coefficient, share, axes=1)
    modulation = by_group @ c
    spread = np.sqrt(by_group**2 @ error**2)
    beyond = np.where(known, 0.0, np.abs(coefficient)[:, None]).max(axis=0)
    cut_off = np.pi / 4 * beyond * max(float(c[-1]), 0.0)
    return SineModulation(
        f, modulation, modulation - spread - cut_off, modulation + spread + cut_off
    )


def _interpolation(known: FloatArray, wanted: FloatArray) -> FloatArray:
    """Weights of the known frequencies in a value interpolated at each wanted one."""
    place = np.interp(np.log(wanted), np.log(known), np.arange(len(known)))
    return np.asarray(np.clip(1 - np.abs(place[..., None] - np.arange(len(known))), 0, None))
