"""Noise power spectrum (Wiener spectrum) of a tint, one shot alone or two shots against each other.

WS(u) = lim (1/area) |F{f - mean}|^2, so its integral over the frequency plane is the variance. It
is estimated with sine tapers (Riedel and Sidorenko, IEEE Trans. Signal Process. 43 (1995) 188),
which use nearly the whole area and leak little. The trend of the light is taken out as a plane;
what the plane takes from the noise is known exactly for noise that is white over a few bins, and
is given back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import scipy.fft as sfft
from scipy.stats import chi2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray, Interval

TAPERS_PER_AXIS = 2
LEAST_TRANSFER = 0.25
"""Bins of which the detrending leaves less than this are filled from the nearest good ones."""


@dataclass(frozen=True)
class NoiseSpectrum:
    """Two-dimensional noise power on the half plane of x frequencies from zero up.

    Attributes
    ----------
    frequency_x : ndarray, shape (nx,)
        Zero and up, cycles/mm.
    frequency_y : ndarray, shape (ny,)
        Both signs, in the order of the discrete Fourier transform, cycles/mm.
    power : ndarray, shape (ny, nx)
        Noise power of the print, reflectance^2 mm^2, corrected for the detrending. With two
        shots it is what they have in common, and single values may be negative.
    common_power, total_power : ndarray, shape (ny, nx)
        The same before any subtraction, and the geometric mean of the power of each shot, camera
        noise included: from these two follow the intervals.
    systematic : ndarray, shape (ny, nx)
        Standard error that all values share, from subtracted estimates (camera noise, paper).
    trend_transfer : ndarray, shape (ny, nx)
        Share of the noise power that the detrending left, before its correction.
    area_mm2 : float
        Area of the region that counts for the random error, after tapering.
    estimates : int
        Independent estimates averaged in each value.
    """

    frequency_x: FloatArray
    frequency_y: FloatArray
    power: FloatArray
    common_power: FloatArray
    total_power: FloatArray
    systematic: FloatArray
    trend_transfer: FloatArray
    area_mm2: float
    estimates: int

    @property
    def radius(self) -> FloatArray:
        """Distance of each value from zero frequency, cycles/mm, shape (ny, nx)."""
        return np.hypot(self.frequency_y[:, None], self.frequency_x[None, :])

    @property
    def cell(self) -> FloatArray:
        """Area of the full frequency plane that each column's values stand for, shape (nx,)."""
        step_x = self.frequency_x[1]
        step_y = self.frequency_y[1]
        twice = np.full(self.frequency_x.size, 2.0)
        twice[0] = 1.0
        return twice * step_x * step_y

    @property
    def lowest_frequency(self) -> float:
        """Below this, in cycles/mm, the values are carried over from higher frequencies."""
        lost = self.trend_transfer < LEAST_TRANSFER
        return float(np.max(self.radius[lost], initial=0.0))


@dataclass(frozen=True)
class Integral:
    """A weighted integral of a spectrum with what its interval is made of."""

    value: float
    print_variance: float
    noise_variance: float
    systematic: float

    @property
    def interval(self) -> Interval:
        """95 % interval: chi-square for the print's own chance, normal for what was added to it.

        The parts are joined by recovered variances (Zou and Donner, Stat. Med. 27 (2008) 1693).
        """
        below = above = 0.0
        if self.value > 0 and self.print_variance > 0:
            degrees = 2 * self.value**2 / self.print_variance
            below = self.value * (1 - degrees / chi2.ppf(0.975, degrees))
            above = self.value * (degrees / chi2.ppf(0.025, degrees) - 1)
        added = 1.96 * np.sqrt(self.noise_variance + self.systematic**2)
        return (
            max(0.0, self.value - float(np.hypot(below, added))),
            max(0.0, self.value) + float(np.hypot(above, added)),
        )


def noise_spectrum(
    reflectance: FloatArray,
    pixels_per_mm: float,
    *,
    second_shot: FloatArray | None = None,
    shift_px: tuple[float, float] = (0.0, 0.0),
    tapers: int = TAPERS_PER_AXIS,
) -> NoiseSpectrum:
    """Noise power spectrum of an even tint.

    Parameters
    ----------
    reflectance : ndarray, shape (h, w)
        Linear reflectance.
    pixels_per_mm : float
        Sampling of the print.
    second_shot : ndarray, shape (h, w), optional
        Another photograph of the same piece of the print: noise that is not common to the two
        cancels (cross-spectrum).
    shift_px : (float, float)
        Remaining x and y shift of the second shot against the first, undone in the phase.
    tapers : int
        Sine tapers per axis; more average more and resolve less.

    Returns
    -------
    NoiseSpectrum
    """
    height, width = reflectance.shape
    taper_y, taper_x = sine_tapers(height, tapers), sine_tapers(width, tapers)
    padded = (sfft.next_fast_len(height, real=True), sfft.next_fast_len(width, real=True))
    frequency_y = sfft.fftfreq(padded[0], 1 / pixels_per_mm)
    frequency_x = sfft.rfftfreq(padded[1], 1 / pixels_per_mm)

    first = detrended(reflectance)
    second = None if second_shot is None else detrended(second_shot)
    auto = np.zeros((padded[0], frequency_x.size), dtype=np.float32)
    other = cross = auto
    if second is not None:
        other, cross = np.zeros_like(auto), np.zeros_like(auto, dtype=np.complex64)
    for row in taper_y:
        for column in taper_x:
            window = row[:, None] * column[None, :]
            transform = sfft.rfft2(first * window, padded)
            auto += _squared(transform)
            if second is not None:
                partner = sfft.rfft2(second * window, padded)
                other += _squared(partner)
                cross += transform * np.conj(partner)

    transfer = _trend_transfer(taper_y, taper_x, padded)
    scale = 1 / (pixels_per_mm**2 * tapers**2) / np.maximum(transfer, LEAST_TRANSFER)
    scale = scale.astype(np.float32)
    common, total = auto * scale, auto * scale
    if second is not None:
        turn = _phase(frequency_y / pixels_per_mm, frequency_x / pixels_per_mm, shift_px)
        common = np.real(cross * np.conj(turn)).astype(np.float32) * scale
        total = np.sqrt(auto * other) * scale
    efficiency = 1 / (1 + 1 / (2 * tapers)) ** 2  # of the summed taper power, both axes
    spectrum = NoiseSpectrum(
        frequency_x=frequency_x,
        frequency_y=frequency_y,
        power=common,
        common_power=common,
        total_power=total,
        systematic=np.zeros_like(common),
        trend_transfer=transfer.astype(np.float32),
        area_mm2=height * width / pixels_per_mm**2 * efficiency,
        estimates=tapers**2,
    )
    return _fill_lost(spectrum)


def integrate(spectrum: NoiseSpectrum, weight: FloatArray | float = 1.0) -> Integral:
    """Integrate the power, times `weight`, over the whole frequency plane.

    Parameters
    ----------
    spectrum : NoiseSpectrum
    weight : ndarray, shape (ny, nx), or float
        Power weight, for example the squared transfer of an aperture.

    Returns
    -------
    Integral
        Variance (reflectance^2) behind the weight, and its error.
    """
    # bin products scatter: E[common^2] and E[total^2] hold the variance of the estimates too
    area = spectrum.cell * weight
    squared = spectrum.cell * np.square(weight)
    common2 = float(np.sum(squared * np.square(spectrum.common_power)))
    total2 = float(np.sum(squared * np.square(spectrum.total_power)))
    signal2, all2 = _without_scatter(common2, total2, spectrum.estimates)
    return Integral(
        value=float(np.sum(spectrum.power * area)),
        print_variance=2 * signal2 / spectrum.area_mm2,
        noise_variance=max(0.0, all2 - signal2) / spectrum.area_mm2,
        systematic=float(np.sum(spectrum.systematic * area)),
    )


@dataclass(frozen=True)
class RadialSpectrum:
    """Mean of a spectrum over rings of frequency, each with its 95 % interval."""

    frequency: FloatArray
    power: FloatArray
    low: FloatArray
    high: FloatArray


def radial_mean(spectrum: NoiseSpectrum) -> RadialSpectrum:
    """Average a spectrum over rings as wide as its resolution, up to the Nyquist frequency.

    Returns
    -------
    RadialSpectrum
        Power in reflectance^2 mm^2. The first ring starts half a step above zero frequency.
    """
    step = float(max(spectrum.frequency_x[1], spectrum.frequency_y[1]))
    nyquist = float(min(spectrum.frequency_x[-1], np.abs(spectrum.frequency_y).max()))
    rings = int(nyquist / step - 0.5)
    index = np.rint(spectrum.radius / step).astype(np.intp).ravel()
    cell = np.broadcast_to(spectrum.cell, spectrum.power.shape)

    def per_ring(values: FloatArray) -> FloatArray:
        return np.bincount(index, (cell * values).ravel(), rings + 1)[1 : rings + 1]

    area = per_ring(np.ones_like(spectrum.power))
    power = per_ring(spectrum.power) / area
    common2 = per_ring(np.square(spectrum.common_power)) / area
    total2 = per_ring(np.square(spectrum.total_power)) / area
    signal2, all2 = _without_scatter(common2, total2, spectrum.estimates)
    freedom = area * spectrum.area_mm2
    systematic = per_ring(spectrum.systematic) / area
    low, high = _ring_interval(
        power, 2 * signal2 / freedom, np.maximum(all2 - signal2, 0) / freedom + systematic**2
    )
    return RadialSpectrum(per_ring(spectrum.radius) / area, power, low, high)


def without_blur(
    spectrum: NoiseSpectrum, frequency: FloatArray, mtf: FloatArray, least_mtf: float = 0.2
) -> tuple[NoiseSpectrum, float]:
    """Divide a spectrum by the square of a camera's MTF.

    Where the MTF is under `least_mtf`, or not given, nothing can be said and the power is zero.

    Returns
    -------
    NoiseSpectrum
    float
        Frequency in cycles/mm up to which the division holds.
    """
    radius = spectrum.radius
    under = np.flatnonzero(np.asarray(mtf) < least_mtf)
    last = frequency[-1] if under.size == 0 else _crossing(frequency, mtf, under[0], least_mtf)
    gain = np.interp(radius, frequency, mtf)
    factor = np.where(radius <= last, 1 / np.maximum(gain, least_mtf) ** 2, 0).astype(np.float32)
    return (
        replace(
            spectrum,
            power=spectrum.power * factor,
            common_power=spectrum.common_power * factor,
            total_power=spectrum.total_power * factor,
            systematic=spectrum.systematic * factor,
        ),
        float(last),
    )


def with_lines(
    spectrum: NoiseSpectrum, lines: Sequence[tuple[float, float, float]]
) -> NoiseSpectrum:
    """Add periodic components, each as (x frequency, y frequency, variance), to single values."""
    if not lines:
        return spectrum
    power = spectrum.power.copy()
    for fx, fy, variance in lines:
        x, y = (fx, fy) if fx >= 0 else (-fx, -fy)
        column = int(np.argmin(np.abs(spectrum.frequency_x - x)))
        for side in (y, -y) if column == 0 else (y,):
            row = int(np.argmin(np.abs(spectrum.frequency_y - side)))
            share = variance / (2 if column == 0 else 1)
            power[row, column] += share / spectrum.cell[column]
    return replace(spectrum, power=power)


def sine_tapers(length: int, count: int) -> FloatArray:
    """First sine tapers of unit energy, shape (count, length)."""
    position = np.arange(1, length + 1) / (length + 1)
    order = np.arange(1, count + 1)[:, None]
    tapers: FloatArray = np.sqrt(2 / (length + 1)) * np.sin(np.pi * order * position)
    return tapers.astype(np.float32)


def detrended(reflectance: FloatArray) -> FloatArray:
    """Take the best-fitting plane out of a region; single precision is kept."""
    row, column = _lines(reflectance.shape[0]), _lines(reflectance.shape[1])
    out = reflectance - np.mean(reflectance, dtype=np.float64)
    slope_y = row[1] @ out.mean(axis=1) * row[1]
    slope_x = column[1] @ out.mean(axis=0) * column[1]
    out -= slope_y[:, None]
    out -= slope_x[None, :]
    return out.astype(np.float32)


def _lines(length: int) -> FloatArray:
    """Level and slope as orthonormal vectors, shape (2, length)."""
    slope = np.linspace(-1, 1, length)
    return np.stack([np.full(length, length**-0.5), slope / np.linalg.norm(slope)])


def _trend_transfer(
    taper_y: FloatArray, taper_x: FloatArray, padded: tuple[int, int]
) -> FloatArray:
    """Share of white noise power that the plane fit leaves at each frequency."""

    def taken(tapers: FloatArray, transform: int, full: bool) -> FloatArray:
        products = tapers[None, :, :] * _lines(tapers.shape[1])[:, None, :]
        fft = sfft.fft if full else sfft.rfft
        return np.mean(np.abs(fft(products, transform)) ** 2, axis=1)

    along_y = taken(taper_y, padded[0], True)
    along_x = taken(taper_x, padded[1], False)
    pairs = ((0, 0), (1, 0), (0, 1))
    return 1 - sum(
        (np.outer(along_y[i], along_x[j]) for i, j in pairs),
        start=np.zeros((along_y.shape[1], along_x.shape[1])),
    )


def _fill_lost(spectrum: NoiseSpectrum) -> NoiseSpectrum:
    """Give the bins that detrending emptied the mean of the nearest good ones."""
    lost = spectrum.trend_transfer < LEAST_TRANSFER
    reach = 1.6 * spectrum.lowest_frequency + 0.5 * float(spectrum.frequency_x[1])
    near = ~lost & (spectrum.radius <= reach)
    common, total = spectrum.common_power.copy(), spectrum.total_power.copy()
    common[lost] = common[near].mean()
    total[lost] = total[near].mean()
    return replace(spectrum, power=common, common_power=common, total_power=total)


def _without_scatter(
    common2: FloatArray | float, total2: FloatArray | float, estimates: int
) -> tuple[FloatArray, FloatArray]:
    """Squares of the expected common and total power from means of squared estimates."""
    m = estimates
    if common2 is total2 or np.array_equal(common2, total2):
        return np.asarray(common2) / (1 + 1 / m), np.asarray(total2) / (1 + 1 / m)
    signal2 = (common2 - np.asarray(total2) / (2 * m)) / (1 + 1 / (2 * m) - 1 / (2 * m**2))
    signal2 = np.maximum(signal2, 0)
    return signal2, total2 - signal2 / m


def _ring_interval(
    power: FloatArray, print_variance: FloatArray, noise_variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Interval of `Integral.interval` for many values at once."""
    positive = np.maximum(power, 0)
    spread = np.maximum(print_variance, 1e-300)
    degrees = np.maximum(2 * positive**2 / spread, 1e-3)
    below = positive * (1 - degrees / chi2.ppf(0.975, degrees))
    with np.errstate(over="ignore", divide="ignore"):
        above = np.where(positive > 0, positive * (degrees / chi2.ppf(0.025, degrees) - 1), 0)
    added = 1.96 * np.sqrt(noise_variance)
    return np.maximum(power - np.hypot(below, added), 0), positive + np.hypot(above, added)


def _crossing(frequency: FloatArray, mtf: FloatArray, index: int, level: float) -> float:
    """Frequency at which a falling curve goes through a level, between samples."""
    if index == 0:
        return float(frequency[0])
    before, after = mtf[index - 1], mtf[index]
    share = (before - level) / (before - after)
    return float(frequency[index - 1] + share * (frequency[index] - frequency[index - 1]))


def _phase(
    cycles_per_px_y: FloatArray, cycles_per_px_x: FloatArray, shift_px: tuple[float, float]
) -> FloatArray:
    """Turn of phase of first times conj(second) when the second is moved by (x, y) pixels."""
    turn_x = np.exp(2j * np.pi * cycles_per_px_x * shift_px[0])
    turn_y = np.exp(2j * np.pi * cycles_per_px_y * shift_px[1])
    return np.asarray(turn_y[:, None] * turn_x[None, :])


def _squared(values: FloatArray) -> FloatArray:
    return np.square(values.real) + np.square(values.imag)
