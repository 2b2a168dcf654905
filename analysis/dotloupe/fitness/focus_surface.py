"""A smooth surface of focus through the blur of all elements, tested against their own scatter.

What a printer makes of one element is its own: it scatters about any smooth surface. What a lens
out of focus adds changes smoothly over the frame and is alike in all elements of one place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray

LEAST_SCATTER = 0.02
"""Of an edge's blur variance: elements are not trusted to scatter less."""
CURVED_FROM = 12
"""Elements from which the surface may bend along x, as a curled sheet does; none tells of y."""


@dataclass(frozen=True)
class FocusSurface:
    """Surface of blur variance over the elements.

    Attributes
    ----------
    loss : ndarray of shape (n,)
        Loss of an edge's MTF50 at each element against the sharpest of them, by the surface.
    loss_high : float
        The greatest loss that the scatter of the elements allows.
    chance : float
        Probability that elements of such scatter alone give a surface of this size (F test).
    """

    loss: FloatArray
    loss_high: float
    chance: float


def focus_surface(
    places_mm: FloatArray,
    blur_um2: FloatArray,
    kinds: NDArray[np.intp],
    size_mm: tuple[float, float],
    edge_um2: float,
) -> FocusSurface | None:
    """Fit the surface.

    Parameters
    ----------
    places_mm : ndarray of shape (n, 2)
        Places of the elements on the patch.
    blur_um2 : ndarray of shape (n,)
        Blur of each as the variance of a Gaussian, from any zero that its kind has in common.
    kinds : ndarray of shape (n,)
        Number of its kind, from 0 on; each kind has its own level.
    size_mm : (float, float)
        Of the patch.
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts, at the sharpest place.

    Returns
    -------
    FocusSurface or None
        None of fewer elements than a surface can be tested by.
    """
    levels = np.eye(int(kinds.max(initial=0)) + 1)[kinds]
    levels = levels[:, levels.any(axis=0)]
    smooth = _terms(places_mm, size_mm)
    design = np.hstack([levels, smooth])
    rank, own = int(np.linalg.matrix_rank(design)), levels.shape[1]
    freedom = len(blur_um2) - rank
    if freedom < 2 or rank == own:
        return None
    covariance, found, left = _solved(design, blur_um2)
    *_, left_level = _solved(levels, blur_um2)
    remains = float(np.sum(left**2))
    gained = max(float(np.sum(left_level**2)) - remains, 0.0)
    scatter = max(remains / freedom, (LEAST_SCATTER * edge_um2) ** 2)
    chance = float(scipy.special.fdtrc(rank - own, freedom, gained / (rank - own) / scatter))
    surface = smooth @ found[own:]
    step = smooth - smooth[int(np.argmin(surface))]
    error = np.sqrt(scatter * np.einsum("ij,jk,ik->i", step, covariance[own:, own:], step))
    above = surface - surface.min()
    high = float(np.max(above + scipy.special.stdtrit(freedom, 0.975) * error))
    return FocusSurface(loss_of(above, edge_um2), float(loss_of(high, edge_um2)), chance)


def loss_of(extra_um2: FloatArray | float, edge_um2: float) -> FloatArray:
    """Loss of MTF50 of an edge of this blur variance to which more is added."""
    return np.asarray(1 - np.sqrt(edge_um2 / (edge_um2 + np.maximum(extra_um2, 0.0))))


def _terms(places_mm: FloatArray, size_mm: tuple[float, float]) -> FloatArray:
    """Tilt, twist and, of many elements, curl: terms of a polynomial without its constant."""
    x, y = (2 * places_mm / np.array(size_mm) - 1).T
    terms = [x, y, x * y]
    if len(x) >= CURVED_FROM:
        terms.append(x * x)
    return np.column_stack(terms)


def _solved(design: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Covariance for a unit scatter, coefficients and what is left, by least squares."""
    covariance = np.linalg.pinv(design.T @ design)
    found = covariance @ (design.T @ values)
    return covariance, found, values - design @ found
