"""The camera's response from one print photographed at two distances, without a reference edge.

Each edge of the print is seen as P(f) C(f / a) at a pixels/mm and as P(f) C(f / b) at b. The ratio
of the two is free of the print: C(u) / C(u a / b) with u = f / a. Its product over the scales u,
u a / b, u (a / b)^2 ... is C(u), as C(0) = 1. With log C a sum of powers of u, each such product is
a geometric series, so that the powers' weights follow from the ratios by least squares.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import CameraCurve
from dotloupe.measure.ideal_camera import IdealCamera
from dotloupe.measure.uncertainty import student_quantile
from dotloupe.units import NORMAL_95

POWERS = (2, 4)
"""Of cycles/pixel in the logarithm of what lens, filter and demosaicing take beside diffraction."""
USUAL_WEIGHTS = (100.0, 20.0)
"""How large their weights may be: a blur of one pixel weighs the square by 2 pi^2."""
SHARED_ERROR = 0.05
"""Variance of a log ratio over the error of its two MTFs. Most of that error is the halftone's,
which both photographs share: weights by its square would leave too much to a few edges."""
ROBUST = 1.5
"""Times the median residual from which on an edge weighs less (Huber, from memory)."""
ROUNDS = 8
COMMON_ERROR = 0.005
"""Relative error that all edges share at the finest frequency compared, which no jackknife shows;
learnt on simulated pairs, where the jackknife alone holds 85 of 100 responses."""
LEAST_CONTRAST = 0.15
"""Below which a ratio of two MTFs is mostly noise."""
FINEST = 0.5
"""Cycles/pixel of the farther photograph up to which edges are compared."""
STEPS = 40
INDEPENDENT = 4.0
"""Frequencies of one edge that err by themselves."""
FLOOR = 0.01
"""Least relative error of an edge's MTF, so that none alone decides."""
FEWEST_EDGES = 4
HIGHEST = 1.0
"""Cycles/pixel up to which the response is given."""


@dataclass(frozen=True)
class ScaledMtf:
    """MTF of an edge in a photograph, the camera left in.

    Attributes
    ----------
    frequency, mtf, error : ndarray, shape (m,)
        Cycles/mm on the print, modulation and its standard error.
    pixels_per_mm : float
        Of the camera's own pixels at the edge.
    """

    frequency: FloatArray
    mtf: FloatArray
    error: FloatArray
    pixels_per_mm: float


@dataclass(frozen=True)
class ScaledCamera:
    """A camera's response that goes with the scale as its working aperture does.

    Attributes
    ----------
    weights : ndarray, shape (2,)
        Of `POWERS` of cycles/pixel in the logarithm of the response less the ideal camera's.
    covariance : ndarray, shape (2, 2)
    degrees : int
        Of freedom, of the covariance.
    ideal : IdealCamera
    finest : float
        Cycles/pixel up to which edges were compared.
    """

    weights: FloatArray
    covariance: FloatArray
    degrees: int
    ideal: IdealCamera
    finest: float

    def on_print(self, pixels_per_mm: float) -> CameraCurve:
        """Response against cycles/mm, with its standard error, at this scale."""
        per_pixel = np.linspace(0.0, HIGHEST, 201)
        powers = _powers(per_pixel)
        frequency = per_pixel * pixels_per_mm
        mtf = self.ideal.mtf(frequency, pixels_per_mm) * np.exp(powers @ self.weights)
        relative = np.sqrt(np.einsum("fi,ij,fj->f", powers, self.covariance, powers))
        wider = student_quantile(self.degrees) / NORMAL_95
        return CameraCurve(frequency, mtf, np.asarray(mtf * relative * wider))


def camera_by_scale(
    edges: Sequence[tuple[ScaledMtf, ScaledMtf]], ideal: IdealCamera
) -> ScaledCamera:
    """Response of a camera from edges of one print, each photographed at two distances.

    Parameters
    ----------
    edges : sequence of (ScaledMtf, ScaledMtf)
        The same edge from farther and from nearer; both at one aperture, both in focus.
    ideal : IdealCamera
        Whose diffraction, unlike all else, changes between the distances with N (1 + m).

    Returns
    -------
    ScaledCamera
        With the covariance of leaving out one edge in turn, and of what all edges share.

    Raises
    ------
    RegionError
        Too few edges keep enough contrast in both photographs.
    """
    ratios = [
        r for farther, nearer in edges if (r := _log_ratio(farther, nearer, ideal)) is not None
    ]
    count = len(ratios)
    if count < FEWEST_EDGES:
        raise RegionError(
            f"{count} edges can be compared between the two distances; show {FEWEST_EDGES} in both"
        )
    without = np.array([_solved(ratios[:i] + ratios[i + 1 :]) for i in range(count)])
    apart = without - without.mean(axis=0)
    covariance = (count - 1) / count * apart.T @ apart
    covariance[0, 0] += COMMON_ERROR**2 / float(np.median([r.reach for r in ratios])) ** 2
    finest = max(r.finest for r in ratios)
    return ScaledCamera(_solved(ratios), covariance, count - 1, ideal, finest)


@dataclass(frozen=True)
class _LogRatio:
    """One edge: differences of the powers between the distances, log ratio of the MTFs, weights."""

    powers: FloatArray
    ratio: FloatArray
    weight: FloatArray
    finest: float

    @property
    def reach(self) -> float:
        """Largest difference of the squares between the distances."""
        return float(self.powers[-1, 0])

    def residual(self, weights: FloatArray) -> float:
        """Weighted root mean square of what the powers leave."""
        left = self.ratio - self.powers @ weights
        return float(np.sqrt(self.weight @ left**2))


def _solved(ratios: Sequence[_LogRatio]) -> FloatArray:
    """Weights of the powers by least squares; edges that fit badly weigh less."""
    normal = np.array([r.powers.T @ (r.weight[:, None] * r.powers) for r in ratios])
    score = np.array([r.powers.T @ (r.weight * r.ratio) for r in ratios])
    prior = np.diag(np.array(USUAL_WEIGHTS) ** -2.0)
    trust = np.ones(len(ratios))
    for _ in range(ROUNDS):
        total = np.tensordot(trust, normal, axes=1) + prior
        found = np.linalg.solve(total, trust @ score)
        residual = np.maximum([r.residual(found) for r in ratios], 1e-12)
        trust = np.minimum(1.0, ROBUST * np.median(residual) / residual)
    return np.asarray(found)


def _log_ratio(farther: ScaledMtf, nearer: ScaledMtf, ideal: IdealCamera) -> _LogRatio | None:
    """Compare one edge between the distances; None where it keeps too little contrast."""
    both = (farther, nearer)
    top = min(*(s.frequency[-1] for s in both), FINEST * farther.pixels_per_mm)
    frequency = np.linspace(0.0, top, STEPS + 1)[1:]
    mtf = np.array([np.interp(frequency, s.frequency, s.mtf) for s in both])
    low = np.flatnonzero((mtf < LEAST_CONTRAST).any(axis=0))
    kept = slice(0, int(low[0]) if low.size else None)
    frequency, mtf = frequency[kept], mtf[:, kept]
    if not frequency.size:
        return None
    error = np.array([np.interp(frequency, s.frequency, s.error) for s in both]) / mtf
    known = np.array([ideal.mtf(frequency, s.pixels_per_mm) for s in both])
    far, near = (_powers(frequency / s.pixels_per_mm) for s in both)
    ratio = np.log(mtf[0] / mtf[1]) - np.log(known[0] / known[1])
    variance = SHARED_ERROR * np.maximum(np.hypot(*error), FLOOR)
    weight = INDEPENDENT / len(frequency) / variance
    return _LogRatio(far - near, ratio, weight, float(frequency[-1] / farther.pixels_per_mm))


def _powers(per_pixel: FloatArray) -> FloatArray:
    return np.stack([per_pixel**p for p in POWERS], axis=-1)
