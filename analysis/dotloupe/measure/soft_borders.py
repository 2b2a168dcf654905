"""Borders blurred by a Gaussian, as models of bars and lines are made of."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from dotloupe.arrays import FloatArray

SQRT_2PI = math.sqrt(2 * math.pi)


class SoftBorders(NamedTuple):
    """Where points lie to borders.

    Attributes
    ----------
    distance : ndarray of shape (borders, n)
        Of each point from each border, in units of the softness.
    passed : ndarray of shape (borders, n)
        How much of a soft border lies to the left of each point, 0 to 1.
    sigma : float
        The softness, with the least there can be.
    """

    distance: FloatArray
    passed: FloatArray
    sigma: float

    @property
    def bells(self) -> FloatArray:
        """Slope of `passed` along the points, shape (borders, n)."""
        return np.exp(-0.5 * self.distance * self.distance) / (SQRT_2PI * self.sigma)


def soft_borders(
    x: FloatArray, at: FloatArray, softness: float, least_softness: float
) -> SoftBorders:
    """Place points `x`, shape (n,), to borders `at`, shape (borders,)."""
    from scipy.special import ndtr

    sigma = math.hypot(softness, least_softness)
    distance = (x - at[:, None]) / sigma
    return SoftBorders(distance, ndtr(distance), sigma)
