"""Two photographs of the same piece of a print, laid one on the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.fft as sfft

from dotloupe.errors import RegionError
from dotloupe.measure.noise_spectrum import detrended
from dotloupe.measure.tint import TILE_MM

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

LEAST_PEAK = 3.0
"""How far the match must stand over the highest one expected of unlike shots, in their spread."""


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
    row, column = _whole_shift(a, b)
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


def _whole_shift(a: FloatArray, b: FloatArray) -> tuple[int, int]:
    """Shift of b against a in whole (rows, columns) from the peak of their correlation."""
    shape = tuple(sfft.next_fast_len(n + n // 2, real=True) for n in a.shape)
    fa, fb = sfft.rfft2(a, shape), sfft.rfft2(b, shape)
    cross = fb * np.conj(fa) * _whitening(fa, fb, shape)
    surface = sfft.irfft2(cross, shape)
    reach = [n // 2 for n in a.shape]
    rows = np.r_[0 : reach[0] + 1, shape[0] - reach[0] : shape[0]]
    columns = np.r_[0 : reach[1] + 1, shape[1] - reach[1] : shape[1]]
    surface = surface[np.ix_(rows, columns)]
    spread = float(np.median(np.abs(surface))) / 0.6745
    at = np.unravel_index(int(np.argmax(surface)), surface.shape)
    expected = np.sqrt(2 * np.log(surface.size))
    if surface[at] < (expected + LEAST_PEAK) * spread:
        raise RegionError(
            "the two shots have nothing in common: another print, another place on it, moved "
            "beyond overlap, or a tint whose grain is lost in camera noise; photograph the same "
            "print again, or measure one shot alone"
        )
    row, column = int(rows[at[0]]), int(columns[at[1]])
    return (
        row - shape[0] if row > reach[0] else row,
        column - shape[1] if column > reach[1] else column,
    )


def _whitening(fa: FloatArray, fb: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """Weight that makes all frequencies count alike, those above the noise floor most."""
    radius = np.hypot(sfft.fftfreq(shape[0])[:, None], sfft.rfftfreq(shape[1])[None, :])
    index = (radius * 256).astype(np.intp)
    count = np.bincount(index.ravel())
    power = np.bincount(index.ravel(), (np.abs(fa) * np.abs(fb)).ravel()) / np.maximum(count, 1)
    filled = power[count > 0]
    floor = float(np.median(filled[int(0.8 * filled.size) :]))
    with np.errstate(divide="ignore", invalid="ignore"):
        weight = np.where(power > 0, (0.05 + np.clip(1 - floor / power, 0, 1)) / power, 0)
    return np.asarray(weight[index])


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
