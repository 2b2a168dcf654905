"""What an edge of the picture becomes behind a transfer: its halo."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.texture.half_level import COARSE_RINGS, LEAST_COHERENCE
from dotloupe.measure.texture.known_texture import DirectionTransfer
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.units import NORMAL_95

SAMPLES_A_CURVE = 2000
LONGEST_MM, PLACES = 2.0, 800


@dataclass(frozen=True)
class Halo:
    """Overshoot of an edge beyond what the sent picture has, as a share of its step.

    Attributes
    ----------
    share : float
        0 where nothing overshoots.
    interval : (float, float)
        Its 95 % interval.
    uncertainty : Uncertainty
    """

    share: float
    interval: Interval
    uncertainty: Uncertainty


def halo(direction: DirectionTransfer) -> Halo | None:
    """Overshoot of an edge behind |H|, whose phase is taken as zero.

    Parameters
    ----------
    direction : DirectionTransfer

    Returns
    -------
    Halo or None
        None where the picture holds too little to say.

    Notes
    -----
    An edge of step 1 is 1/2 + 1/pi times the integral of H(f) sin(2 pi f x)/f (derived). Beyond
    the last frequency H goes to 0 within as much again, as a raised cosine.
    """
    held = direction.coherence > LEAST_COHERENCE
    last = len(held) if held.all() else int(np.argmin(held))
    if last < COARSE_RINGS:
        return None
    f, gain = direction.frequency[:last], direction.transfer[:last]
    error = (direction.transfer_high - direction.transfer_low)[:last] / (2 * NORMAL_95)
    whole, whole_error = _at_zero(*(a[:COARSE_RINGS] for a in (f, gain, error)))
    fine = (np.arange(SAMPLES_A_CURVE) + 0.5) * 2 * f[-1] / SAMPLES_A_CURVE
    down = np.cos(np.pi / 2 * np.clip(fine / f[-1] - 1, 0, 1)) ** 2
    x_mm = np.linspace(0, LONGEST_MM, PLACES)
    waves = np.sin(2 * np.pi * fine * x_mm[:, None]) / fine * down * (fine[1] - fine[0]) / np.pi
    # what each ring adds to the edge at each place, those between two rings shared among them
    rings = np.array([np.interp(fine, [0, *f], one) for one in np.eye(last + 1)])
    by_ring = waves @ rings.T
    edge = 0.5 + by_ring @ np.array([1.0, *(gain / whole)])
    top = int(np.argmax(edge))
    share = max(float(edge[top]) - 1, 0.0)
    of_rings = by_ring[top, 1:] * error / whole
    of_whole = by_ring[top, 1:] @ gain / whole**2 * whole_error
    uncertainty = Uncertainty(float(np.hypot(np.hypot.reduce(of_rings), of_whole)))
    half = NORMAL_95 * uncertainty.standard_error
    return Halo(share, (max(share - half, 0.0), share + half), uncertainty)


def _at_zero(f: FloatArray, gain: FloatArray, error: FloatArray) -> tuple[float, float]:
    """Value at zero frequency and its standard error: ln |H| as a line in f^2, rising or falling.

    What is sharpened rises from there, so that the mean of the lowest rings would be too much.
    """
    weight = gain / np.maximum(error, 1e-9)
    terms, covariance = np.polyfit(f**2, np.log(gain), 1, w=weight, cov="unscaled")
    whole = float(np.exp(terms[1]))
    return whole, whole * float(np.sqrt(covariance[1, 1]))
