"""The edge spread function as a spline on scattered samples, with knots set by the edge itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import BSpline

from dotloupe.arrays import FloatArray

DEGREE = 4
"""Degree of the edge spread function; the line spread function is one less."""
GAUSSIAN_RISE = 2.5631
"""10-90 % rise of a Gaussian edge in units of its sigma."""


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

    @cached_property
    def _spline(self) -> BSpline:
        tied = (DEGREE - 1) * [self.levels[0]], (DEGREE - 1) * [self.levels[-1]]
        return BSpline(
            extended_knots(self.breaks), np.concatenate([tied[0], self.levels, tied[1]]), DEGREE
        )

    @property
    def step(self) -> float:
        """Right plateau minus left plateau."""
        return float(self.levels[-1] - self.levels[0])

    def value(self, distance: FloatArray) -> FloatArray:
        """Edge spread function at `distance` in pixels."""
        return np.asarray(self._spline(np.clip(distance, self.breaks[0], self.breaks[-1])))

    def slope(self, distance: FloatArray, order: int = 1) -> FloatArray:
        """Line spread function (or a further derivative) at `distance`, zero outside."""
        inside = (distance >= self.breaks[0]) & (distance <= self.breaks[-1])
        clipped = np.clip(distance, self.breaks[0], self.breaks[-1])
        return np.where(inside, self._spline.derivative(order)(clipped), 0.0)


def extended_knots(breaks: FloatArray) -> FloatArray:
    """Knots with as many beyond each end as the degree asks for."""
    more = np.arange(1, DEGREE + 1)
    head, tail = breaks[1] - breaks[0], breaks[-1] - breaks[-2]
    return np.concatenate([breaks[0] - head * more[::-1], breaks, breaks[-1] + tail * more])


def spread_basis(breaks: FloatArray, distance: FloatArray) -> FloatArray:
    """Basis of `EdgeSpread.levels` at scattered distances, shape (samples, levels)."""
    clipped = np.clip(distance, breaks[0], breaks[-1])
    full = BSpline.design_matrix(clipped, extended_knots(breaks), DEGREE).toarray()
    tied = DEGREE - 1
    basis = np.array(full[:, tied : full.shape[1] - tied])
    basis[:, 0] += full[:, :tied].sum(axis=1)
    basis[:, -1] += full[:, full.shape[1] - tied :].sum(axis=1)
    return basis


def graded_breaks(
    low: float, high: float, centre: float, spacing: float, core: tuple[float, float], growth: float
) -> FloatArray:
    """Knots evenly spaced over the core of the edge and ever wider outside it.

    A blur has no detail far out that is finer than the distance itself, so few knots carry
    its tails, and the noise of the plateaus stays out of the transform.
    """
    right = _outward(high - centre, spacing, core[1], growth)
    left = _outward(centre - low, spacing, core[0], growth)
    return np.concatenate([centre - left[::-1], centre + right[1:]])


def _outward(length: float, spacing: float, core: float, growth: float) -> FloatArray:
    places = [0.0]
    while places[-1] < length:
        beyond = max(0.0, places[-1] - core)
        places.append(places[-1] + spacing + growth * beyond)
    if len(places) > 2 and places[-1] - length > 0.5 * (places[-1] - places[-2]):
        places.pop()
    scaled = np.array(places)
    outer = scaled > min(core, length)
    if outer.any() and scaled[-1] > core and length > core:
        scaled[outer] = core + (scaled[outer] - core) * (length - core) / (scaled[-1] - core)
    else:
        scaled *= length / scaled[-1]
    return scaled
