"""Two photographs of the same piece of a print, laid one on the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.errors import RegionError
from dotloupe.measure.grain.even_tint import TILE_MM
from dotloupe.measure.grain.noise_spectrum import detrended
from dotloupe.measure.grain.shot_shift import shift_between, straightened

if TYPE_CHECKING:
    from dotloupe.arrays import ComplexArray, FloatArray

FALSE_MATCH = 1e-3
"""Chance that two unlike shots are taken for shots of the same print."""

LARGEST_LEVEL_STEP = 0.1
"""Relative difference of the mean reflectance that two lights may leave."""

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
    error_px : float
        Standard error of the remaining shift, of the worse direction.
    turned_px : float
        How far turn and scale of the second had moved its corners; 0 where they were left alone.
    """

    first: FloatArray
    second: FloatArray
    shift_px: tuple[float, float]
    moved_px: tuple[float, float]
    error_px: float
    turned_px: float


def pair_shots(first: FloatArray, second: FloatArray, pixels_per_mm: float) -> ShotPair:
    """Find how the second shot is shifted against the first, and crop both to what they share.

    Parameters
    ----------
    first, second : ndarray, shape (h, w)
        Even tints of nearly one scale and direction; a shift between them is allowed.
    pixels_per_mm : float

    Raises
    ------
    RegionError
        Where the two hold nothing in common, differ in level, or overlap by less than one tile.
    """
    level = float(np.mean(second)) / float(np.mean(first))
    if abs(level - 1) > LARGEST_LEVEL_STEP:
        raise RegionError(
            f"the second shot shows a tint {100 * abs(level - 1):.0f} % "
            f"{'lighter' if level > 1 else 'darker'} than the first: another tint, or another light"
        )
    one, two, (row, column) = _overlapping(first, second / level, pixels_per_mm)
    two, turned_px = straightened(one, two)
    if turned_px:
        one, two, (more_rows, more_columns) = _overlapping(one, two, pixels_per_mm)
        row, column = row + more_rows, column + more_columns
    fine = shift_between(detrended(one), detrended(two))
    x, y = fine.shift_px
    return ShotPair(one, two, (x, y), (column + x, row + y), fine.error_px, turned_px)


def _overlapping(
    first: FloatArray, second: FloatArray, pixels_per_mm: float
) -> tuple[FloatArray, FloatArray, tuple[int, int]]:
    """Pieces of both shots that show the same to a pixel, and the (row, column) shift found."""
    height, width = (min(n, m) for n, m in zip(first.shape, second.shape, strict=True))
    a, b = detrended(first[:height, :width]), detrended(second[:height, :width])
    row, column = _whole_shift(a, b, max(2, round(NEAR_MM * pixels_per_mm)))
    rows, columns = height - abs(row), width - abs(column)
    if min(rows, columns) < TILE_MM * pixels_per_mm * 0.995:
        raise RegionError(
            f"the second shot is moved by {abs(column) / pixels_per_mm:.2f} x "
            f"{abs(row) / pixels_per_mm:.2f} mm against the first, which leaves less than one "
            f"{TILE_MM} mm tile: crop both shots to the same piece of the print"
        )
    top, left = max(0, -row), max(0, -column)
    return (
        first[top : top + rows, left : left + columns],
        second[top + row : top + row + rows, left + column : left + column + columns],
        (row, column),
    )


def _whole_shift(a: FloatArray, b: FloatArray, near: int) -> tuple[int, int]:
    """Shift of b against a in whole (rows, columns): near zero if it is there, else anywhere."""
    shape = tuple(scipy.fft.next_fast_len(n + n // 2, real=True) for n in a.shape)
    fa, fb = scipy.fft.rfft2(a, shape), scipy.fft.rfft2(b, shape)
    cross = fb * np.conj(fa)
    overlap = np.sqrt(np.outer(*(_overlap(n, m) for n, m in zip(a.shape, shape, strict=True))))
    far = min(n // 2 for n in a.shape)
    weighted = [cross * weight for weight in _whitening(fa, fb)]
    surfaces = [_around_zero(scipy.fft.irfft2(w, shape) / overlap, far) for w in weighted]
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
            least = -scipy.special.ndtri(FALSE_MATCH / 2 / chances) * spread
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


def _whitening(fa: ComplexArray, fb: ComplexArray) -> tuple[FloatArray, FloatArray]:
    """Weights that make all frequencies count alike, and by what stands over the noise floor."""
    radius = np.hypot(
        scipy.fft.fftfreq(fa.shape[0])[:, None], np.linspace(0, 0.5, fa.shape[1])[None, :]
    )
    index = (radius * 256).astype(np.intp)
    count = np.bincount(index.ravel())
    power = np.bincount(index.ravel(), (np.abs(fa) * np.abs(fb)).ravel()) / np.maximum(count, 1)
    filled = power[count > 0]
    floor = float(np.median(filled[int(0.8 * filled.size) :]))
    flat = 1 / np.maximum(power, 1e-6 * filled.max() + 1e-300)
    return flat[index], (flat * np.clip(1 - floor * flat, 0, 1))[index]
