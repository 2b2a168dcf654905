"""The edge spread function as a spline on scattered samples, with knots set by the edge itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError

DEGREE = 4
"""Degree of the edge spread function; the line spread function is one less."""
GAUSSIAN_RISE = 2.5631
"""10-90 % rise of a Gaussian edge in units of its sigma."""
PIECE_NODES = np.cos(np.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
"""Places in a knot interval, -1 to 1, through whose values its polynomial goes."""
FROM_NODES = np.linalg.inv(np.vander(PIECE_NODES, increasing=True))


@dataclass(frozen=True)
class EdgeSpread:
    """A spline that is level outside its first and last knot.

    Attributes
    ----------
    breaks : ndarray, shape (n + 1,)
        Knots in pixels of distance from the edge.
    levels : ndarray, shape (n - 2,)
        Spline coefficients; the first and the last are the two plateaus.
    """

    breaks: FloatArray
    levels: FloatArray

    @property
    def step(self) -> float:
        """Right plateau minus left plateau."""
        return float(self.levels[-1] - self.levels[0])

    @property
    def plateaus(self) -> tuple[float, float]:
        """Left and right plateau."""
        return float(self.levels[0]), float(self.levels[-1])

    @cached_property
    def _pieces(self) -> FloatArray:
        """Its polynomial over each knot interval, as `spline_pieces` has them: (powers, n)."""
        return np.einsum(
            "ipj,ij->pi", spline_pieces(self.breaks), self.levels[piece_levels(self.breaks)]
        )

    def value(self, distance: FloatArray) -> FloatArray:
        """Edge spread function at `distance` in pixels."""
        return _polynomial(self._pieces, *located(self.breaks, distance))

    def slope(self, distance: FloatArray) -> FloatArray:
        """Line spread function at `distance`, zero outside."""
        return self._slope(distance, *located(self.breaks, distance))

    def value_and_slope(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Both at once."""
        interval, place = located(self.breaks, distance)
        return _polynomial(self._pieces, interval, place), self._slope(distance, interval, place)

    def _slope(
        self, distance: FloatArray, interval: NDArray[np.intp], place: FloatArray
    ) -> FloatArray:
        powers = np.arange(1.0, DEGREE + 1)[:, None]
        derivative = self._pieces[1:] * powers * (2.0 / np.diff(self.breaks))
        inside = (distance >= self.breaks[0]) & (distance <= self.breaks[-1])
        return np.where(inside, _polynomial(derivative, interval, place), 0.0)


def _polynomial(
    coefficients: FloatArray, interval: NDArray[np.intp], place: FloatArray
) -> FloatArray:
    """Each place's own polynomial, coefficients (powers, intervals) from the lowest power up."""
    total = coefficients[-1].take(interval)
    for power in coefficients[-2::-1]:
        total *= place
        total += power.take(interval)
    return total


def extended_knots(breaks: FloatArray) -> FloatArray:
    """Knots with as many beyond each end as the degree asks for."""
    more = np.arange(1, DEGREE + 1)
    head, tail = breaks[1] - breaks[0], breaks[-1] - breaks[-2]
    return np.concatenate([breaks[0] - head * more[::-1], breaks, breaks[-1] + tail * more])


def local_basis(
    knots: FloatArray, degree: int, place: FloatArray
) -> tuple[NDArray[np.intp], FloatArray]:
    """B-splines that are not zero at each place, by the Cox-de Boor recursion.

    Returns
    -------
    first : ndarray, shape (samples,)
        Index of the first of them.
    values : ndarray, shape (degree + 1, samples)
    """
    last = knots.size - degree - 2
    interval = np.searchsorted(knots, place, side="right") - 1
    np.clip(interval, degree, last, out=interval)
    reach = np.arange(1 - degree, degree + 1)
    away = knots[interval + reach[:, None]] - place
    values = np.empty((degree + 1, place.size))
    values[0] = 1.0
    share = np.empty(place.size)
    for k in range(1, degree + 1):
        carried: FloatArray | float = 0.0
        for i in range(k):
            right, left = away[i + degree], away[i + degree - k]
            np.subtract(right, left, out=share)
            np.divide(values[i], share, out=share)
            np.multiply(right, share, out=values[i])
            values[i] += carried
            carried = -left * share
        values[k] = carried
    return interval - degree, values


def spline_pieces(breaks: FloatArray) -> FloatArray:
    """Splines that are not zero on each knot interval, as polynomials over it.

    Returns
    -------
    ndarray, shape (n, powers, splines)
        Coefficients by powers, from the lowest up, of the place in the interval from -1 to 1.
        Not to be written to: kept for the next call with the same knots.
    """
    return _spline_pieces(np.asarray(breaks, dtype=float).tobytes())


@lru_cache(maxsize=4)
def _spline_pieces(knots: bytes) -> FloatArray:
    breaks = np.frombuffer(knots)
    half = 0.5 * np.diff(breaks)[:, None]
    place = 0.5 * (breaks[:-1] + breaks[1:])[:, None] + half * PIECE_NODES
    _, values = local_basis(extended_knots(breaks), DEGREE, place.ravel())
    values = values.reshape(DEGREE + 1, *place.shape)
    return np.einsum("pk,jik->ipj", FROM_NODES, values)


def piece_levels(breaks: FloatArray) -> NDArray[np.intp]:
    """Index in `EdgeSpread.levels` of those splines; those beyond an end share its plateau."""
    first = np.arange(breaks.size - 1)[:, None] + np.arange(1 - DEGREE, 2)
    return np.clip(first, 0, breaks.size - DEGREE)


def place_powers(place: FloatArray) -> FloatArray:
    """Powers of places in knot intervals, from the lowest up, shape (powers, *places)."""
    powers = np.empty((DEGREE + 1, *place.shape))
    powers[0] = 1.0
    for power in range(1, DEGREE + 1):
        np.multiply(powers[power - 1], place, out=powers[power])
    return powers


def located(breaks: FloatArray, distance: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Knot interval of each distance, and its place in it from -1 to 1."""
    clipped = np.clip(distance, breaks[0], breaks[-1])
    interval = np.searchsorted(breaks[1:-1], clipped, side="right")
    centre = 0.5 * (breaks[:-1] + breaks[1:])
    clipped -= centre.take(interval)
    clipped *= (2.0 / np.diff(breaks)).take(interval)
    return interval, clipped


def spread_basis(breaks: FloatArray, distance: FloatArray) -> FloatArray:
    """Basis of `EdgeSpread.levels` at scattered distances, shape (samples, levels)."""
    interval, place = located(breaks, distance)
    splines = np.einsum("ps,spj->sj", place_powers(place), spline_pieces(breaks)[interval])
    tied, width = DEGREE - 1, breaks.size + 3
    every = np.zeros((distance.size, width))
    first = np.arange(distance.size) * width + interval
    every.ravel()[first[:, None] + np.arange(DEGREE + 1)] = splines
    basis = every[:, tied:-tied]
    basis[:, 0] += every[:, :tied].sum(axis=1)
    basis[:, -1] += every[:, -tied:].sum(axis=1)
    return np.asarray(basis)


@dataclass(frozen=True)
class Width:
    """How wide an edge spread function is, in pixels of distance.

    Attributes
    ----------
    ten, half, ninety : float
        Where it passes 10, 50 and 90 % of its step.
    sigma : float
        Sigma of the Gaussian edge of the same 10-90 % rise.
    finest : float
        The smaller of that and the sigma of the Gaussian edge of the same steepest slope.
    """

    ten: float
    half: float
    ninety: float
    sigma: float
    finest: float


def width_of(spread: EdgeSpread) -> Width:
    """Measure the width of an edge spread function.

    Raises
    ------
    RegionError
        If it does not rise from one plateau to the other inside its span.
    """
    grid = np.linspace(spread.breaks[0], spread.breaks[-1], 1001)
    share = (spread.value(grid) - spread.levels[0]) / spread.step
    half = int(np.argmax(share >= 0.5))
    below = np.nonzero(share[: half + 1] <= 0.1)[0]
    above = np.nonzero(share[half:] >= 0.9)[0]
    if half == 0 or below.size == 0 or above.size == 0:
        raise RegionError(
            "the edge's blur is wider than the region; photograph closer or choose a wider region"
        )

    def crossing(index: int, target: float) -> float:
        rise = share[index] - share[index - 1]
        return float(grid[index] - (share[index] - target) / rise * (grid[1] - grid[0]))

    ten, ninety = crossing(int(below[-1]) + 1, 0.1), crossing(half + int(above[0]), 0.9)
    sigma = abs(ninety - ten) / GAUSSIAN_RISE
    steepest = float(np.abs(np.diff(share)).max()) / float(grid[1] - grid[0])
    finest = min(sigma, max(1.0 / (float(np.sqrt(2 * np.pi)) * steepest), 0.4))
    return Width(ten, crossing(half, 0.5), ninety, sigma, finest)
