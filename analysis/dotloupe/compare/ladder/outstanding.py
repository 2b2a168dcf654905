"""Whether any ppi stands out from its neighbours' trend."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.ladder.saturation import SHAPE_ERROR, fit_saturation
from dotloupe.compare.pairs import FAMILY_ERROR

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray

FEWEST_POINTS = 5
"""The trend of the other points needs one more than its three parameters."""


@dataclass(frozen=True)
class Departure:
    """One ppi against the trend of all others.

    Attributes
    ----------
    sent_ppi : float
        The ppi looked at.
    percent, low, high : float
        Detail above (or below) the trend of the others, in per cent of it; the intervals of all
        ppi hold together with 95 %.
    p_value : float
        Chance of a departure as large somewhere on the ladder if none were true.
    outstanding : bool
        `p_value` is below 0.05.
    """

    sent_ppi: float
    percent: float
    low: float
    high: float
    p_value: float
    outstanding: bool


def departures(
    ppi: FloatArray,
    log_value: FloatArray,
    log_error: FloatArray,
    degrees: float,
) -> tuple[Departure, ...]:
    """Compare each point with what the trend of all others predicts for it.

    The point that stands out most is taken from the trend before the others are looked at again,
    so that it does not make its neighbours stand out the other way.

    Parameters
    ----------
    ppi, log_value, log_error : ndarray (n,)
        Sent ppi, natural logarithm of the detail and its standard error.
    degrees : float
        Degrees of freedom of the standard errors.

    Returns
    -------
    tuple of Departure
        Empty for fewer than five points.

    Notes
    -----
    The chance of any flag on a ladder where none is true is kept by Sidak's correction for having
    looked at every ppi.
    """
    count = len(ppi)
    if count < FEWEST_POINTS:
        return ()

    def look(index: int, trusted: NDArray[np.bool_]) -> Departure:
        others = trusted & (np.arange(count) != index)
        trend = fit_saturation(ppi, log_value, log_error, degrees, used=others)
        expected, trend_error = trend.predict(float(ppi[index]))
        spread = float(np.hypot(np.hypot(trend_error, log_error[index]), SHAPE_ERROR))
        difference = float(log_value[index]) - expected
        return _departure(float(ppi[index]), difference, spread, degrees, count)

    trusted = np.ones(count, dtype=bool)
    found = [look(i, trusted) for i in range(count)]
    while trusted.sum() >= FEWEST_POINTS:
        worst = min(np.flatnonzero(trusted), key=lambda i: found[i].p_value)
        if not found[worst].outstanding:
            break
        trusted[worst] = False
        if trusted.sum() < FEWEST_POINTS:
            found = [
                d if not ok else replace(d, outstanding=False)
                for d, ok in zip(found, trusted, strict=True)
            ]
            break
        found = [look(i, trusted) for i in range(count)]
    return tuple(found)


def _departure(
    sent_ppi: float, difference: float, spread: float, degrees: float, looked_at: int
) -> Departure:
    alone = 2 * float(scipy.special.stdtr(degrees, -abs(difference) / spread))
    corrected = -float(np.expm1(looked_at * np.log1p(-min(alone, 1 - 1e-12))))
    each = 1 - (1 - FAMILY_ERROR) ** (1 / looked_at)
    half = float(scipy.special.stdtrit(degrees, 1 - each / 2)) * spread
    return Departure(
        sent_ppi=sent_ppi,
        percent=100 * float(np.expm1(difference)),
        low=100 * float(np.expm1(difference - half)),
        high=100 * float(np.expm1(difference + half)),
        p_value=corrected,
        outstanding=corrected < FAMILY_ERROR,
    )
