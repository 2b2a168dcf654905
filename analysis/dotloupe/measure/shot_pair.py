"""Two photographs of the same piece of a print, laid one on the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.fft as sfft
from scipy.stats import norm

from dotloupe.errors import RegionError
from dotloupe.measure.noise_spectrum import detrended
from dotloupe.measure.tint import TILE_MM

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

FALSE_MATCH = 1e-3
"""Chance that two unlike shots are taken for shots of the same print."""

NEAR_MM = 0.1
"""Shift that registration may leave: it is looked for first."""


@dataclass(frozen=True)
class ShotPair:
    """The common part of two shots.

    Attributes
    ----------
    first, second : ndarray, shape (h, w)
        Crops that show the same piece of the print to half a pixel.
    shift_px : (float, float)
        Remaining x and y shift of the second against the first.
    moved_px : (float, float)
        Whole x and y shift that was found between the arrays as given.
    """

    first: FloatArray
    second: FloatArray
    shift_px: tuple[float, float]
    moved_px: tuple[float, float]


def pair_shots(first: FloatArray, second: FloatArray, pixels_per_mm: float) -> ShotPair:
    """Find how the second shot is shifted against the first, and crop both to what they share.

    Parameters
    ----------
    first, second : ndarray, shape (h, w)
        Even tints of one scale and direction; a shift between them is allowed.
    pixels_per_mm : float

    Raises
    ------
    RegionError
        Where the two hold nothing in common, or overlap by less than one tile.
    """
    height = min(first.shape[0], second.shape[0])
    width = min(first.shape[1], second.shape[1])
    a, b = detrended(first[:height, :width]), detrended(second[:height, :width])
    row, column = _whole_shift(a, b, max(2, round(NEAR_MM * pixels_per_mm)))
    rows, columns = height - abs(row), width - abs(column)
    if min(rows, columns) < TILE_MM * pixels_per_mm:
        raise RegionError(
            f"the second shot is moved by {abs(column) / pixels_per_mm:.2f} x "
            f"{abs(row) / pixels_per_mm:.2f} mm against the first, which leaves less than one "
            f"{TILE_MM} mm tile: crop both shots to the same piece of the print"
        )
    top, left = max(0, -row), max(0, -column)
    one = first[top : top + rows, left : left + columns]
    two = second[top + row : top + row + rows, left + column : left + column + columns]
    fine_x, fine_y = _fine_shift(detrended(one), detrended(two))
    return ShotPair(one, two, (fine_x, fine_y), (column + fine_x, row + fine_y))


def _whole_shift(a: FloatArray, b: FloatArray, near: int) -> tuple[int, int]:
    """Shift of b against a in whole (rows, columns): near zero if it is there, else anywhere."""
    shape = tuple(sfft.next_fast_len(n + n // 2, real=True) for n in a.shape)
    fa, fb = sfft.rfft2(a, shape), sfft.rfft2(b, shape)
    cross = fb * np.conj(fa)
    overlap = np.sqrt(np.outer(*(_overlap(n, m) for n, m in zip(a.shape, shape, strict=True))))
    far = min(n // 2 for n in a.shape)
    weighted = [cross * weight for weight in _whitening(fa, fb)]
    surfaces = [_around_zero(sfft.irfft2(w, shape) / overlap, far) for w in weighted]
    for reach in (near, far):
        inner = slice(far - reach, far + reach + 1)
        for values, surface in zip(weighted, surfaces, strict=True):
            part = surface[inner, inner]
            at = np.unravel_index(int(np.argmax(part)), part.shape)
            spread = float(np.median(np.abs(surface))) / 0.6745
            # a smooth surface has fewer chances to be high than it has values; 4 for its peaks
            square = np.square(np.abs(values))
            band = float(square.sum() ** 2 / np.square(square).sum()) / square.size
            chances = 4 * max(band * part.size, 1.0)
            least = norm.isf(FALSE_MATCH / 2 / chances) * spread
            # a far higher peak elsewhere is the true one, and this its shoulder
            if part[at] > max(least, 0.5 * surface.max()):
                return int(at[0]) - reach, int(at[1]) - reach
    raise RegionError(
        "the two shots have nothing in common: another print, another place on it, moved "
        "beyond overlap, or a tint whose grain is lost in camera noise; photograph the same "
        "print again, or measure one shot alone"
    )


def _around_zero(surface: FloatArray, reach: int) -> FloatArray:
    """Values of a periodic surface up to `reach` before and after zero in both directions."""
    return surface[np.ix_(*(np.arange(-reach, reach + 1) for _ in range(2)))]


def _overlap(length: int, padded: int) -> FloatArray:
    """Share of a row that two copies shifted against each other share, at least a quarter."""
    shift = np.arange(padded)
    return np.maximum(1 - np.minimum(shift, padded - shift) / length, 0.25)


def _whitening(fa: FloatArray, fb: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Weights that make all frequencies count alike, and by what stands over the noise floor."""
    radius = np.hypot(sfft.fftfreq(fa.shape[0])[:, None], np.linspace(0, 0.5, fa.shape[1])[None, :])
    index = (radius * 256).astype(np.intp)
    count = np.bincount(index.ravel())
    power = np.bincount(index.ravel(), (np.abs(fa) * np.abs(fb)).ravel()) / np.maximum(count, 1)
    filled = power[count > 0]
    floor = float(np.median(filled[int(0.8 * filled.size) :]))
    flat = 1 / np.maximum(power, 1e-6 * filled.max() + 1e-300)
    return flat[index], (flat * np.clip(1 - floor * flat, 0, 1))[index]


def _fine_shift(a: FloatArray, b: FloatArray) -> tuple[float, float]:
    """Shift of b against a below a pixel, as (x, y), where their cross-spectrum is most real."""
    window = np.outer(np.hanning(a.shape[0] + 2)[1:-1], np.hanning(a.shape[1] + 2)[1:-1])
    fa, fb = sfft.rfft2(a * window), sfft.rfft2(b * window)
    omega_y = 2 * np.pi * sfft.fftfreq(a.shape[0])[:, None]
    omega_x = 2 * np.pi * sfft.rfftfreq(a.shape[1])[None, :]
    cross = fa * np.conj(fb)
    weight = _shared_weight(cross, fa, fb, np.hypot(omega_y, omega_x))
    shift = np.zeros(2)
    for _ in range(12):
        turned = cross * np.exp(-1j * (omega_x * shift[0] + omega_y * shift[1]))
        real, imaginary = weight * turned.real, weight * turned.imag
        gradient = np.array([np.sum(omega_x * imaginary), np.sum(omega_y * imaginary)])
        mixed = np.sum(omega_x * omega_y * real)
        curvature = np.array(
            [[np.sum(omega_x**2 * real), mixed], [mixed, np.sum(omega_y**2 * real)]]
        )
        step = np.linalg.solve(curvature, gradient)
        shift = np.clip(shift + np.clip(step, -0.5, 0.5), -1, 1)
        if np.abs(step).max() < 1e-5:
            break
    return float(shift[0]), float(shift[1])


def _shared_weight(
    cross: FloatArray, fa: FloatArray, fb: FloatArray, omega: FloatArray
) -> FloatArray:
    """Weight of each frequency for the shift: power in common over power of both, by rings."""
    index = (omega * 40).astype(np.intp).ravel()
    both = np.bincount(index, (np.abs(fa) * np.abs(fb)).ravel())
    shared = np.bincount(index, cross.real.ravel())
    count = np.bincount(index)
    with np.errstate(divide="ignore", invalid="ignore"):
        weight = np.where(both > 0, np.maximum(shared, 0) * count / both**2, 0)
    return np.asarray(weight[index].reshape(omega.shape))
