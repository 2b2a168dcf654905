"""Light that an edge spreads beyond the window of its measurement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.edge_jackknife import standard_error
from dotloupe.measure.edge.joint_fit import EdgeFit
from dotloupe.measure.edge.spread_function import spread_basis

LEAST_WINDOW = 10.0
"""Sigmas the window must reach for its outer half to be all tail."""


@dataclass(frozen=True)
class Tail:
    """A line spread that goes on as strength / distance^2 beyond the window.

    Attributes
    ----------
    strength : float
        Share of the step times pixels; 0 where no such tail was seen.
    every : ndarray, shape (blocks,)
        The strength without each block of the edge in turn.
    left, right : float
        Ends of the window in pixels, both positive.
    """

    strength: float
    every: FloatArray
    left: float
    right: float

    def transform(self, frequency: FloatArray) -> FloatArray:
        """Fourier transform of a tail of unit strength on both sides, at cycles/pixel."""
        from scipy.special import exp1

        sides = np.zeros(frequency.shape, dtype=complex)
        for end, sign in ((self.right, 1.0), (self.left, -1.0)):
            turn = 2.0 * np.pi * np.maximum(frequency, 1e-12) * end
            half = np.exp(-1j * turn) - 1j * turn * exp1(1j * turn)
            sides += (half if sign > 0 else half.conj()) / end
        return sides


def inverse_square_tail(fit: EdgeFit) -> Tail:
    """Find a tail that falls as the inverse square of the distance, as diffraction's does.

    The share of the step in the outer half of the window, its ratio to the quarter before, and
    the bend between the last three quarters have to be those of an inverse square, on both
    sides alike: exponential spread in the paper and uneven light do not pass, and are left as
    they are.
    """
    left, right = -fit.low, fit.high
    window = min(left, right)
    none = Tail(0.0, np.zeros(len(fit.levels)), left, right)
    if window < LEAST_WINDOW * fit.width.sigma:
        return none
    at = window * np.array([0.25, 0.5, 0.75, 1.0])
    both = np.concatenate([-at, at])
    basis = spread_basis(fit.spread.breaks, both)
    share = basis @ fit.spread.levels / fit.spread.step
    every = fit.levels @ basis.T / (fit.levels[:, -1:] - fit.levels[:, :1])
    sides = np.diff(share.reshape(2, 4), axis=1) * np.array([[-1.0], [1.0]])
    outer = sides[:, 1] + sides[:, 2]
    error = standard_error(np.abs(every[:, [1, 5]] - every[:, [3, 7]]))
    first, second, third = sides.sum(axis=0)
    if (sides <= 0).any() or (outer < 6.0 * error).any():
        return none
    ratio, bend = (second + third) / first, third * first / second**2
    lopsided = abs(float(outer[0] - outer[1])) / float(outer.sum())
    if not (0.42 < ratio < 0.58 and 1.3 < bend < 1.7 and lopsided < 0.2):
        return none
    strength = 0.5 * window * float(outer.sum())
    replicates = 0.5 * window * (every[:, 1] - every[:, 3] + every[:, 7] - every[:, 5])
    return Tail(strength, replicates, left, right)
