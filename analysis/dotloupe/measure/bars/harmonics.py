"""A group of bars folded on one period: its harmonics, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import ComplexArray, FloatArray
from dotloupe.measure.bars.block import STEEPEST

MOST_HARMONICS = 9


@dataclass(frozen=True)
class Comb:
    """The regular series of bars that a group is compared to, in pixels of its region.

    Attributes
    ----------
    frequency : float
        Cycles per pixel, at right angles to the bars.
    slope : float
        Columns per row by which the bars lean.
    centre : float
        Column of a bar's centre at row `middle`.
    middle : float
        The row to which `centre` belongs.
    """

    frequency: float
    slope: float
    centre: float
    middle: float

    @property
    def row_frequency(self) -> float:
        """Cycles per pixel along a row."""
        return float(self.frequency / np.hypot(1.0, self.slope))

    def row_turns(self, rows: slice) -> FloatArray:
        """Periods by which the bars have moved in each row, since the middle one."""
        y = np.arange(rows.start, rows.stop)
        return np.asarray(self.row_frequency * self.slope * (y - self.middle))


def _harmonics_possible(frequency: float) -> int:
    """Highest harmonic that the pixels can hold."""
    return int(np.clip(np.floor(0.48 / frequency), 1, MOST_HARMONICS))


def block_harmonics(
    darkness: FloatArray, comb: Comb, rows: slice, columns: slice, bars: int
) -> FloatArray:
    """Harmonics of a group with paper around it, in every row.

    The darkness is folded on the period and divided by the number of bars: what one period of an
    endless series of such bars would hold. Nothing is assumed about the blur, except that it
    ends within `columns`.

    Returns
    -------
    ndarray of complex, shape (rows, harmonics + 1)
        Mean darkness, then the complex amplitude of each harmonic about the comb's bar centre
        (real and positive for a dark bar there).
    """
    orders = _harmonics_possible(comb.frequency) + 1
    x = np.arange(columns.start, columns.stop)
    waves = _waves(-comb.row_frequency * (x - comb.centre), orders)
    folded = (darkness[rows, columns] @ waves.view(np.float64)).view(np.complex128)
    folded *= comb.row_frequency / bars
    folded[:, 1:] *= 2.0
    return np.asarray(folded * _waves(comb.row_turns(rows), orders))


def _waves(turns: FloatArray, orders: int) -> ComplexArray:
    """exp(2 pi i k turns) for k from 0 up, shape (n, orders)."""
    return np.vander(np.exp(2j * np.pi * turns), orders, increasing=True)


def walled_harmonics(darkness: FloatArray, comb: Comb, rows: slice, columns: slice) -> FloatArray:
    """Harmonics of bars that fill `columns`, in every row, by least squares with a slow trend.

    Returns
    -------
    ndarray of complex, shape (rows, harmonics + 1)
        As `block_harmonics` gives them.
    """
    order = np.arange(1, _harmonics_possible(comb.frequency) + 1)
    x = np.arange(columns.start, columns.stop)
    turns = 2 * np.pi * comb.row_frequency * np.outer(x - comb.centre, order)
    trend = np.polynomial.legendre.legvander(np.linspace(-1, 1, len(x)), 2)
    basis = np.hstack([trend, np.cos(turns), np.sin(turns)])
    fitted = darkness[rows, columns] @ np.linalg.pinv(basis).T
    cosine, sine = fitted[:, 3 : 3 + len(order)], fitted[:, 3 + len(order) :]
    lean = np.exp(2j * np.pi * np.outer(comb.row_turns(rows), order))
    return np.hstack([fitted[:, :1], (cosine - 1j * sine) * lean])


def leaning(by_row: FloatArray, comb: Comb, rows: slice, slope_error: float) -> float:
    """Slope at which the first harmonics of all rows agree best, near the comb's own slope."""
    span = float(np.clip(4.0 * slope_error, 1e-5, STEEPEST))
    y = np.arange(rows.start, rows.stop) - comb.middle
    step = 0.1 / (comb.frequency * len(y))
    slopes = np.arange(-np.ceil(span / step), np.ceil(span / step) + 1) * step
    turns = 2j * np.pi * comb.row_frequency * np.outer(slopes, y)
    return comb.slope + _peak(slopes, np.abs(np.exp(turns) @ by_row[:, 1]))


def walled_comb(darkness: FloatArray, frequency: float, rows: slice) -> Comb:
    """Frequency and tilt of bars that fill their region: the highest point of its spectrum.

    Looked for within 2 % of the frequency given and 3.4 degrees of upright.
    """
    part = darkness[rows]
    height, width = part.shape
    x, y = np.arange(width) - (width - 1) / 2, np.arange(height) - (height - 1) / 2
    part = (part - part.mean()) * np.hanning(height + 2)[1:-1, None] * np.hanning(width + 2)[1:-1]
    tries = 2 * int(np.ceil(0.16 * frequency * width)) + 3
    frequencies = frequency * (1 + np.linspace(-0.02, 0.02, tries))
    by_row = part @ np.exp(-2j * np.pi * np.outer(x, frequencies))
    slopes = np.linspace(
        -STEEPEST, STEEPEST, 2 * int(np.ceil(6 * STEEPEST * frequency * height)) + 3
    )
    lean = np.exp(2j * np.pi * frequency * np.outer(slopes, y))
    power = np.abs(lean @ by_row)
    best_slope, best_frequency = np.unravel_index(int(power.argmax()), power.shape)
    slope = _peak(slopes, power[:, best_frequency])
    along_row = _peak(frequencies, power[best_slope])
    middle = rows.start + (height - 1) / 2
    return Comb(float(along_row * np.hypot(1.0, slope)), slope, (width - 1) / 2, middle)


def _peak(position: FloatArray, height: FloatArray) -> float:
    """Position of a maximum, by the parabola through it and its neighbours."""
    at = int(np.clip(height.argmax(), 1, len(height) - 2))
    before, top, after = height[at - 1 : at + 2]
    bend = before - 2 * top + after
    shift = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float(position[at] + np.clip(shift, -1, 1) * (position[1] - position[0]))
