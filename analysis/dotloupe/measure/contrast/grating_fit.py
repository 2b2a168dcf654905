"""Amplitude and phase of a grating of known frequency, and the power of grain by the same fit."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import RegionError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray

LEAST_PIXELS = 64
LEAST_PER_PERIOD = 2.5
"""Pixels a period: at two a sine cannot be told from its mirror image."""


@dataclass(frozen=True)
class CellImage:
    """A photographed cell with the place of each pixel.

    Attributes
    ----------
    signal : ndarray of shape (h, w)
        Linear reflectance relative to the paper, or a difference of channels.
    along_mm, across_mm : ndarray of shape (h, w)
        From the middle of the cell, along the axis that a grating swings and across it.
    """

    signal: FloatArray
    along_mm: FloatArray
    across_mm: FloatArray


@dataclass(frozen=True)
class GratingFit:
    """A sine, a plane and the mean under it, by least squares.

    Attributes
    ----------
    mean : float
    in_phase, quadrature : float
        Amplitudes of the sine and of the cosine about the middle of the cell.
    in_phase_gain, quadrature_gain : float
        Their variances over that of the pixels, if noise were white: what a cell of this size and
        sampling makes of noise.
    """

    mean: float
    in_phase: float
    quadrature: float
    in_phase_gain: float
    quadrature_gain: float


@dataclass(frozen=True)
class GrainPower:
    """Power of grain at one frequency and direction.

    Attributes
    ----------
    variance : float
        Of the pixels, of the white noise that would disturb a fit as the grain does.
    degrees : float
        Degrees of freedom that it rests on.
    """

    variance: float
    degrees: float


def fit_grating(
    cell: CellImage,
    frequency: float,
    *,
    size_mm: tuple[float, float],
    middle_mm: tuple[float, float] = (0.0, 0.0),
) -> GratingFit:
    """Fit a sine of known frequency within a rectangle of a cell.

    The reflectance counts as mean + slopes + s sin(2 pi f u) + c cos(2 pi f u), u along the cell
    from the middle of the rectangle, solved by least squares for all pixels at once.

    Parameters
    ----------
    cell : CellImage
    frequency : float
        Cycles/mm.
    size_mm : pair of float
        Length along and width across.
    middle_mm : pair of float
        Of the rectangle, along and across, from the middle of the cell.

    Raises
    ------
    RegionError
        Too few pixels for the frequency.
    """
    along, across = cell.along_mm - middle_mm[0], cell.across_mm - middle_mm[1]
    inside = (np.abs(along) <= size_mm[0] / 2) & (np.abs(across) <= size_mm[1] / 2)
    count = int(inside.sum())
    per_mm = (count / (size_mm[0] * size_mm[1])) ** 0.5
    if count < LEAST_PIXELS or per_mm < LEAST_PER_PERIOD * frequency:
        raise RegionError(
            f"a grating of {frequency:.2f} lp/mm: {per_mm:.0f} pixels per mm are too few; "
            "photograph closer"
        )
    u, v = along[inside], across[inside]
    turn = 2 * np.pi * frequency * u
    design = np.stack([np.ones_like(u), u, v, np.sin(turn), np.cos(turn)])
    inverse = np.linalg.inv(design @ design.T)
    answer = inverse @ (design @ cell.signal[inside])
    gains = np.diag(inverse)
    return GratingFit(
        float(answer[0]), float(answer[3]), float(answer[4]), float(gains[3]), float(gains[4])
    )


def grain_power(
    cells: Sequence[CellImage],
    frequency: float,
    *,
    size_mm: tuple[float, float],
    cell_mm: tuple[float, float],
) -> GrainPower:
    """Power of grain in plain tint, by fits of a grating that is not there.

    The rectangle of a grating is laid at all places of each cell, half its size apart.

    Parameters
    ----------
    cells : sequence of CellImage
        Plain tint.
    frequency : float
        Cycles/mm.
    size_mm, cell_mm : pair of float
        Length along and width across of the rectangle, and of the cells.

    Returns
    -------
    GrainPower
        Overlapping places share grain: the degrees of freedom are 2 n^2 over the sum of the
        squared shares of n places and two phases (Welch, IEEE Trans. Audio Electroacoust. 15
        (1967) 70; from memory).

    Raises
    ------
    RegionError
        Too few pixels for the frequency.
    """
    places = list(
        product(*(_places(room, size) for room, size in zip(cell_mm, size_mm, strict=True)))
    )
    powers = []
    for cell in cells:
        for middle in places:
            fit = fit_grating(cell, frequency, size_mm=size_mm, middle_mm=middle)
            powers.append(fit.in_phase**2 / fit.in_phase_gain)
            powers.append(fit.quadrature**2 / fit.quadrature_gain)
    away = np.abs(np.array(places)[:, None] - np.array(places)[None])
    shared = np.prod(np.clip(1 - away / np.array(size_mm), 0, 1), axis=-1)
    degrees = 2 * len(places) ** 2 / float(np.sum(shared**2)) * len(cells)
    return GrainPower(float(np.mean(powers)), degrees)


def _places(room_mm: float, size_mm: float) -> FloatArray:
    """Middles of stretches over a longer one, about half a stretch apart, from its middle."""
    spare = max(room_mm - size_mm, 0.0)
    count = int(2 * spare / size_mm + 1e-9) + 1
    if count == 1 and spare > 0.1 * size_mm:
        count = 2
    return np.linspace(-spare / 2, spare / 2, count) if count > 1 else np.zeros(1)
