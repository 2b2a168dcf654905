"""A noise spectrum by distance from zero frequency, its integrals and their intervals."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import scipy

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray, Interval

RINGS_PER_STEP = 8
"""Rings so thin that a weight at their mean frequency is the weight at every value in them."""


@dataclass(frozen=True)
class RingSpectrum:
    """Thin rings of the frequency plane, those that hold values, out to the corners.

    Attributes
    ----------
    frequency : ndarray, shape (n,)
        Mean distance of the ring's values from zero frequency, cycles/mm.
    area : ndarray, shape (n,)
        Area of the frequency plane that the ring's values stand for, (cycles/mm)^2.
    power : ndarray, shape (n,)
        Mean noise power of the print, reflectance^2 mm^2.
    measured : ndarray, shape (n,)
        The same before anything was subtracted: what chance works on.
    print_square, noise_square : ndarray, shape (n,)
        Mean square of the power in common, and of what camera noise adds to the square of the
        power of both shots: from these follows the random error.
    systematic : ndarray, shape (n,)
        Standard error that all rings share, from subtracted estimates (camera noise, paper).
    step : float
        Distance of neighbouring values of the two-dimensional spectrum, cycles/mm.
    nyquist : float
        Cycles/mm.
    sides_mm : (float, float)
        Width and height of the region.
    tapers : int
        Sine tapers per axis.
    clumping : float
        Relative variance of the noise power beyond that of a Gaussian field, after tapering.
    """

    frequency: FloatArray
    area: FloatArray
    power: FloatArray
    measured: FloatArray
    print_square: FloatArray
    noise_square: FloatArray
    systematic: FloatArray
    step: float
    nyquist: float
    sides_mm: tuple[float, float]
    tapers: int
    clumping: float

    @property
    def effective_area_mm2(self) -> float:
        """Area of the region that counts for the random error, after tapering."""
        return self.sides_mm[0] * self.sides_mm[1] / (1 + 1 / (2 * self.tapers)) ** 2

    @property
    def lowest_frequency(self) -> float:
        """One cycle over the shorter side: below it the power is carried over from above."""
        return 1 / min(self.sides_mm)


@dataclass(frozen=True)
class RadialSpectrum:
    """Mean of a spectrum over rings of frequency, with its 95 % interval and standard error."""

    frequency: FloatArray
    power: FloatArray
    low: FloatArray
    high: FloatArray
    error: FloatArray


@dataclass(frozen=True)
class Integral:
    """A weighted integral of a spectrum and its 95 % interval, in reflectance^2."""

    value: float
    interval: Interval


def ring_spectrum(
    common: FloatArray,
    total: FloatArray,
    radius: FloatArray,
    *,
    steps: tuple[float, float],
    sides_mm: tuple[float, float],
    tapers: int,
    clumping: float,
) -> RingSpectrum:
    """Gather a two-dimensional spectrum on the half plane of x frequencies from zero up.

    Parameters
    ----------
    common, total, radius : ndarray, shape (ny, nx)
        Power in common of two shots, geometric mean of the power of each, distance from zero.
    steps : (float, float)
        Step in x and in y frequency, cycles/mm.
    sides_mm, tapers, clumping
        As in `RingSpectrum`; `clumping` with what a Gaussian field has of it.
    """
    thin = min(steps) / RINGS_PER_STEP
    index = np.rint(radius * (1 / thin)).astype(np.int32).ravel()
    on_axis = np.rint(radius[:, 0] * (1 / thin)).astype(np.int32)
    length = int(index.max()) + 1

    def gathered(values: FloatArray) -> FloatArray:
        # all columns but that of x frequency zero stand for their mirror image too
        both = 2.0 * np.bincount(index, values.ravel(), length)
        return both - np.bincount(on_axis, values[:, 0], length)

    count = gathered(np.ones_like(common))
    held = count > 0
    count = count[held]
    means = [gathered(v)[held] / count for v in (radius, common, np.square(common))]
    frequency, power, common2 = means
    total2 = common2 if total is common else gathered(np.square(total))[held] / count
    print_square, noise_square = _expected_squares(common2, total2, tapers**2)
    rings = RingSpectrum(
        frequency=frequency,
        area=count * (steps[0] * steps[1]),
        power=power,
        measured=power,
        print_square=print_square,
        noise_square=noise_square,
        systematic=np.zeros_like(power),
        step=max(steps),
        nyquist=float(min(radius[0, -1], radius[:, 0].max())),
        sides_mm=sides_mm,
        tapers=tapers,
        clumping=0.0,
    )
    excess = max(0.0, clumping - _relative_variance(rings))
    region = sides_mm[0] * sides_mm[1]
    return replace(rings, clumping=excess * region / rings.effective_area_mm2)


def misplaced(rings: RingSpectrum, error_mm: float) -> RingSpectrum:
    """Add the error that an unsure shift between two shots brings: half its squared phase."""
    phase = 2 * np.pi * rings.frequency * error_mm
    return multiplied(rings, np.ones_like(phase), np.minimum(phase**2 / 2, 1))


def integrate(rings: RingSpectrum, weight: FloatArray | float = 1.0) -> Integral:
    """Integrate the power, times `weight`, over the whole frequency plane.

    Parameters
    ----------
    rings : RingSpectrum
    weight : ndarray, shape (n,), or float
        Power weight of each ring, for example the squared transfer of an aperture.
    """
    area = rings.area * weight
    squared = area * weight / rings.effective_area_mm2
    value, measured = float(rings.power @ area), float(rings.measured @ area)
    of_print = 2 * float(squared @ rings.print_square) + rings.clumping * value**2
    of_camera = float(squared @ rings.noise_square) + float(rings.systematic @ area) ** 2
    low, high = _interval(*(np.array([v]) for v in (value, measured, of_print, of_camera)))
    return Integral(value, (float(low[0]), float(high[0])))


def radial_mean(rings: RingSpectrum) -> RadialSpectrum:
    """Average a spectrum over rings one resolution step wide, up to the Nyquist frequency."""
    index = np.rint(rings.frequency / rings.step).astype(np.intp)
    last = int(rings.nyquist / rings.step - 0.5)

    def summed(values: FloatArray) -> FloatArray:
        return 1.0 * np.bincount(index, rings.area * values, last + 1)[1 : last + 1]

    area = summed(np.ones_like(rings.area))
    power = summed(rings.power) / area
    width = rings.step * min(rings.sides_mm)
    freedom = area * rings.effective_area_mm2 / _share_of_variance(width, rings.tapers)
    systematic = summed(rings.systematic) / area
    of_print = 2 * summed(rings.print_square) / area / freedom + rings.clumping * power**2
    of_camera = summed(rings.noise_square) / area / freedom + systematic**2
    low, high = _interval(power, summed(rings.measured) / area, of_print, of_camera)
    error = np.sqrt(of_print + of_camera)
    return RadialSpectrum(summed(rings.frequency) / area, power, low, high, error)


def with_lines(rings: RingSpectrum, lines: Sequence[tuple[float, float]]) -> RingSpectrum:
    """Add periodic components, each as (frequency in cycles/mm, variance), to single rings."""
    power = rings.power.copy()
    for frequency, variance in lines:
        ring = int(np.argmin(np.abs(rings.frequency - frequency)))
        power[ring] += variance / rings.area[ring]
    return replace(rings, power=power)


def subtracted(rings: RingSpectrum, power: FloatArray, error: FloatArray) -> RingSpectrum:
    """Take an estimated power off each ring, with its standard error."""
    return replace(rings, power=rings.power - power, systematic=np.hypot(rings.systematic, error))


def multiplied(
    rings: RingSpectrum, factor: FloatArray, relative_error: FloatArray | float = 0.0
) -> RingSpectrum:
    """Multiply the power of each ring, and its errors, by a factor known to a relative error."""
    power = rings.power * factor
    return replace(
        rings,
        power=power,
        measured=rings.measured * factor,
        print_square=rings.print_square * factor**2,
        noise_square=rings.noise_square * factor**2,
        systematic=np.hypot(rings.systematic * factor, power * relative_error),
    )


def _expected_squares(
    common2: FloatArray, total2: FloatArray, estimates: int
) -> tuple[FloatArray, FloatArray]:
    """Squares of the expected powers from means of squares of estimates, which scatter.

    With m estimates averaged, E[t^2] = T + C/m and E[c^2] = C (1 + 1/2m) + T/2m for Gaussian
    fields, where C and T are the squares sought. With one shot the two are the same.
    """
    m = estimates
    if common2 is total2:
        square = common2 / (1 + 1 / m)
        return square, np.zeros_like(square)
    common_square = (common2 - total2 / (2 * m)) / (1 + 1 / (2 * m) - 1 / (2 * m**2))
    total_square = total2 - common_square / m
    return common_square, total_square - common_square


def _relative_variance(rings: RingSpectrum) -> float:
    """Relative variance of the total noise power of a Gaussian field with this spectrum."""
    region = rings.sides_mm[0] * rings.sides_mm[1]
    total = float(np.sum(rings.power * rings.area))
    spread = float(np.sum((2 * rings.print_square + rings.noise_square) * rings.area))
    return spread / region / total**2 if total > 0 else np.inf


@cache
def _share_of_variance(width: float, tapers: int) -> float:
    """Variance of a ring `width` cycles per side wide, over that if its values were independent.

    Neighbouring values share the tapers' window, so a thin ring gains more than its own area.
    """
    length, pad = 128, 64
    fields = _sine_products(length, tapers)
    window = np.sum(np.square(np.abs(np.fft.fft(fields, length * pad))), axis=0)
    offset = np.abs(np.fft.fftfreq(length * pad)) * length
    overlap = np.clip(1 - offset / width, 0, None)
    return float(np.sum(window * overlap) / np.sum(window))


def _sine_products(length: int, tapers: int) -> FloatArray:
    """Products of all pairs of sine tapers, shape (tapers^2, length)."""
    position = np.arange(1, length + 1) / (length + 1)
    single = np.sin(np.pi * np.arange(1, tapers + 1)[:, None] * position)
    return np.asarray((single[:, None, :] * single[None, :, :]).reshape(tapers**2, length))


def _interval(
    value: FloatArray,
    measured: FloatArray,
    print_variance: FloatArray,
    added_variance: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """95 % interval: chi-square for the chance in what was measured, normal for what was added.

    The parts are joined by recovered variances (Zou and Donner, Stat. Med. 27 (2008) 1693).
    """
    positive = np.maximum(measured, 0)
    degrees = 2 * positive**2 / np.maximum(print_variance, 1e-300)
    degrees = np.minimum(np.maximum(degrees, 0.05), 1e7)
    below = positive * (1 - degrees / _chi_square(0.975, degrees))
    above = positive * np.minimum(degrees / _chi_square(0.025, degrees) - 1, 1e6)
    added = 1.96 * np.sqrt(np.maximum(added_variance, 0))
    low = np.maximum(value - np.hypot(below, added), 0)
    return low, np.maximum(value, 0) + np.hypot(above, added)


def _chi_square(share: float, degrees: FloatArray) -> FloatArray:
    """Value below which a share of a chi-square distribution lies."""
    return np.asarray(2 * scipy.special.gammaincinv(degrees / 2, share))
