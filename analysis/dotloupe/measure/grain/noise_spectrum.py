"""Noise power spectrum (Wiener spectrum) of a tint, one shot alone or two shots against each other.

WS(u) = lim (1/area) |F{f - mean}|^2, so its integral over the frequency plane is the variance. It
is estimated with sine tapers (Riedel and Sidorenko, IEEE Trans. Signal Process. 43 (1995) 188),
which use nearly the whole area and leak little. The trend of the light is taken out as a plane;
what the plane takes from the noise is known exactly for noise that is white over a few values,
and is given back.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.measure.grain.evenness import power_change
from dotloupe.measure.grain.ring_spectrum import RingSpectrum, ring_spectrum

if TYPE_CHECKING:
    from dotloupe.arrays import ComplexArray, FloatArray

TAPERS_PER_AXIS = 2
LEAST_TRANSFER = 0.25
CLUMPING_BLOCKS = 6
"""Values of which the detrending leaves less than this are filled from the nearest good ones."""


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
        Noise power, reflectance^2 mm^2, corrected for the detrending. With two shots it is what
        they have in common, and single values may be negative.
    trend_transfer : ndarray, shape (ny, nx)
        Share of the noise power that the detrending left, before its correction.
    rings : RingSpectrum
        The same by distance from zero frequency, with what its error follows from.
    """

    frequency_x: FloatArray
    frequency_y: FloatArray
    power: FloatArray
    trend_transfer: FloatArray
    rings: RingSpectrum

    @property
    def radius(self) -> FloatArray:
        """Distance of each value from zero frequency, cycles/mm, shape (ny, nx)."""
        return np.hypot(self.frequency_y[:, None], self.frequency_x[None, :])


def noise_spectrum(
    reflectance: FloatArray,
    pixels_per_mm: float,
    *,
    second_shot: FloatArray | None = None,
    shift_px: tuple[float, float] = (0.0, 0.0),
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

    Returns
    -------
    NoiseSpectrum
    """
    height, width = reflectance.shape
    taper_y, taper_x = (_sine_tapers(n, TAPERS_PER_AXIS) for n in (height, width))
    padded = (scipy.fft.next_fast_len(height, real=True), scipy.fft.next_fast_len(width, real=True))
    frequency_y = scipy.fft.fftfreq(padded[0], 1 / pixels_per_mm)
    frequency_x = scipy.fft.rfftfreq(padded[1], 1 / pixels_per_mm)

    first = detrended(reflectance)
    second = None if second_shot is None else detrended(second_shot)
    common, total = _tapered_powers(first, second, taper_y, taper_x, padded, shift_px)
    transfer = _trend_transfer(height, width, padded)
    scale = (1 / pixels_per_mm**2 / np.maximum(transfer, LEAST_TRANSFER)).astype(np.float32)
    common *= scale
    if total is not common:
        total *= scale
    radius = np.hypot(frequency_y[:, None], frequency_x[None, :])
    _fill_lost(common, total, transfer, radius)
    rings = ring_spectrum(
        common,
        total,
        radius,
        steps=(float(frequency_x[1]), float(frequency_y[1])),
        sides_mm=(width / pixels_per_mm, height / pixels_per_mm),
        tapers=TAPERS_PER_AXIS,
        clumping=power_clumping(first, first if second is None else second),
    )
    return NoiseSpectrum(frequency_x, frequency_y, common, transfer, rings)


def _sine_tapers(length: int, count: int) -> FloatArray:
    """First sine tapers of unit energy, shape (count, length)."""
    position = np.arange(1, length + 1) / (length + 1)
    order = np.arange(1, count + 1)[:, None]
    tapers: FloatArray = np.sqrt(2 / (length + 1)) * np.sin(np.pi * order * position)
    return tapers.astype(np.float32)


def detrended(reflectance: FloatArray) -> FloatArray:
    """Take the best-fitting plane out of a region; single precision is kept."""
    row, column = _lines(reflectance.shape[0]), _lines(reflectance.shape[1])
    down = reflectance.mean(axis=1, dtype=np.float64)
    mean = down.mean()
    slope_y = row[1] @ (down - mean) * row[1] + mean
    slope_x = column[1] @ (reflectance.mean(axis=0, dtype=np.float64) - mean) * column[1]
    out: FloatArray = reflectance.astype(np.float32)
    out -= slope_y[:, None].astype(np.float32)
    out -= slope_x[None, :].astype(np.float32)
    return out


def power_clumping(first: FloatArray, second: FloatArray) -> float:
    """Relative variance of the noise power over a region, from blocks of it.

    A field of dots has more of it than a Gaussian field of the same spectrum: about one over the
    number of dots (Campbell's theorem for shot noise). A change of the power from one part of the
    region to another adds what it brings.
    """
    ends = [np.linspace(0, n, CLUMPING_BLOCKS + 1).astype(int)[:-1] for n in first.shape]
    product = first * second
    sums = np.add.reduceat(np.add.reduceat(product, ends[0], axis=0), ends[1], axis=1)
    count = np.add.reduceat(np.ones(first.shape[0]), ends[0])[:, None]
    count = count * np.add.reduceat(np.ones(first.shape[1]), ends[1])[None, :]
    power = (sums / count).astype(np.float64)
    mean = float(power.mean())
    by_chance = float(power.var(ddof=1)) / CLUMPING_BLOCKS**2 / mean**2 if mean > 0 else 0.0
    return max(by_chance, power_change(first, second).variance)


def _tapered_powers(
    first: FloatArray,
    second: FloatArray | None,
    taper_y: FloatArray,
    taper_x: FloatArray,
    padded: tuple[int, int],
    shift_px: tuple[float, float],
) -> tuple[FloatArray, FloatArray]:
    """Power in common and geometric mean of the powers, averaged over the tapers."""
    shape = (padded[0], padded[1] // 2 + 1)
    auto = np.zeros(shape, dtype=np.float32)
    other, cross = auto, np.zeros(0, dtype=np.complex64)
    if second is not None:
        other, cross = np.zeros_like(auto), np.zeros(shape, dtype=np.complex64)
    for row in taper_y:
        for column in taper_x:
            transform = _transform(first, row, column, padded)
            auto += _squared(transform)
            if second is not None:
                partner = _transform(second, row, column, padded)
                other += _squared(partner)
                cross += transform * np.conj(partner)
    count = len(taper_y) * len(taper_x)
    auto /= count
    if second is None:
        return auto, auto
    # moving the second by s turns first times conj(second) by exp(2 pi i f s): turn it back
    turn_y = np.exp(-2j * np.pi * scipy.fft.fftfreq(padded[0]) * shift_px[1]).astype(np.complex64)
    turn_x = np.exp(-2j * np.pi * scipy.fft.rfftfreq(padded[1]) * shift_px[0]).astype(np.complex64)
    cross *= turn_y[:, None]
    cross *= turn_x[None, :]
    return np.ascontiguousarray(cross.real) / count, np.sqrt(auto * other / count)


def _transform(
    field: FloatArray, taper_y: FloatArray, taper_x: FloatArray, padded: tuple[int, int]
) -> ComplexArray:
    tapered = field * taper_y[:, None]
    tapered *= taper_x[None, :]
    return scipy.fft.rfft2(tapered, padded, overwrite_x=True)


def _squared(values: ComplexArray) -> FloatArray:
    return np.square(values.real) + np.square(values.imag)


def _lines(length: int) -> FloatArray:
    """Level and slope as orthonormal vectors, shape (2, length)."""
    slope = np.linspace(-1, 1, length)
    return np.stack([np.full(length, length**-0.5), slope / np.linalg.norm(slope)])


@lru_cache(maxsize=4)
def _trend_transfer(height: int, width: int, padded: tuple[int, int]) -> FloatArray:
    """Share of white noise power that the plane fit leaves at each frequency.

    The array returned cannot be written to: tints of one size share it.
    """

    def taken(side: int, length: int, whole: bool) -> FloatArray:
        tapers = _sine_tapers(side, TAPERS_PER_AXIS)
        products = tapers[None, :, :] * _lines(tapers.shape[1])[:, None, :]
        waves = scipy.fft.fft(products, length) if whole else scipy.fft.rfft(products, length)
        return np.mean(np.square(np.abs(waves)), axis=1)

    along_y, along_x = taken(height, padded[0], True), taken(width, padded[1], False)
    across = np.stack([along_x[0] + along_x[1], along_x[0]])
    transfer = np.asarray(1 - along_y.T @ across, dtype=np.float32)
    transfer.setflags(write=False)
    return transfer


def _fill_lost(
    common: FloatArray, total: FloatArray, transfer: FloatArray, radius: FloatArray
) -> None:
    """Give the values that detrending emptied the mean of the nearest good ones, in place."""
    lost = transfer < LEAST_TRANSFER
    if not lost.any():
        return
    reach = 1.6 * radius[lost].max() + 0.5 * radius[0, 1]
    near = ~lost & (radius <= reach)
    for power in (common, total):
        power[lost] = power[near].mean()
