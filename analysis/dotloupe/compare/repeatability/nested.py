"""Nested analysis of variance: photographs within prints, prints within settings.

After ISO 5725-2 (repeatability and its components; from memory). Counts may differ: means of prints
are taken unweighted (Thomas and Hultquist, Ann. Stat. 6 (1978) 582; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, nan, sqrt

import numpy as np

from dotloupe.arrays import FloatArray, Interval

TAIL = 0.025


@dataclass(frozen=True)
class Component:
    """A variance, in the square of the number's unit.

    Attributes
    ----------
    variance : float
        Unbiased, so that it may come out below zero where the true one is small.
    interval : (float, float)
        95 %, zero at least.
    degrees : float
        Degrees of freedom of the mean square that it comes from.
    """

    variance: float
    interval: Interval
    degrees: float

    @property
    def sd(self) -> float:
        """Standard deviation, zero at least."""
        return sqrt(max(self.variance, 0.0))

    @property
    def sd_interval(self) -> Interval:
        """95 % interval of the standard deviation."""
        return sqrt(self.interval[0]), sqrt(self.interval[1])


@dataclass(frozen=True)
class NestedVariances:
    """What photographs and prints vary by.

    Attributes
    ----------
    photograph, between : Component
        Of a photograph about its print's mean, and of a print about its setting's; the second is
        of no degrees where no setting has two prints.
    prints, photographs : int
    mean : float
        Over all prints.
    """

    photograph: Component
    between: Component
    prints: int
    photographs: int
    mean: float

    def of_print(self) -> float:
        """Variance of one photograph of a print about its setting's mean."""
        return max(self.between.variance, 0.0) + self.photograph.variance


def nested_variances(settings: Sequence[Sequence[FloatArray]]) -> NestedVariances | None:
    """Separate what photographs vary by from what prints vary by.

    Parameters
    ----------
    settings : sequence of sequence of ndarray
        Values of the photographs of each print of each setting.

    Returns
    -------
    NestedVariances or None
        None where no print was photographed twice.

    Notes
    -----
    The interval of the photographs' variance is exact; that of the prints' is the modified
    large-sample one (Burdick and Graybill, Confidence Intervals on Variance Components, 1992; from
    memory).
    """
    prints = [np.asarray(p, dtype=float) for setting in settings for p in setting]
    shots = sum(p.size for p in prints)
    degrees = shots - len(prints)
    if degrees < 1:
        return None
    within = float(sum(np.sum((p - p.mean()) ** 2) for p in prints)) / degrees
    mean = float(np.mean([p.mean() for p in prints]))
    between = _between(settings, within, degrees)
    photograph = Component(within, _chi_square_interval(within, degrees), float(degrees))
    return NestedVariances(photograph, between, len(prints), shots, mean)


def _between(settings: Sequence[Sequence[FloatArray]], within: float, degrees: int) -> Component:
    squares, reciprocals, own = 0.0, 0.0, 0
    for setting in settings:
        means = np.array([np.mean(p) for p in setting])
        if means.size > 1:
            squares += float(np.sum((means - means.mean()) ** 2))
            reciprocals += (means.size - 1) * float(np.mean([1 / np.size(p) for p in setting]))
            own += means.size - 1
    if not own:
        return Component(nan, (0.0, inf), 0.0)
    of_means, share = squares / own, reciprocals / own
    interval = _difference_interval(of_means, own, share * within, degrees)
    return Component(of_means - share * within, interval, float(own))


def _chi_square_interval(variance: float, degrees: float) -> Interval:
    from scipy.special import chdtri

    upper, lower = chdtri(degrees, TAIL), chdtri(degrees, 1 - TAIL)
    return float(variance * degrees / upper), float(variance * degrees / lower)


def _difference_interval(larger: float, first: int, smaller: float, second: int) -> Interval:
    """Modified large-sample interval of the difference of two mean squares, zero at least."""
    from scipy.special import chdtri, fdtri

    f_high, f_low = fdtri(first, second, 1 - TAIL), fdtri(first, second, TAIL)
    g1, g2 = 1 - first / chdtri(first, TAIL), 1 - second / chdtri(second, TAIL)
    h1, h2 = first / chdtri(first, 1 - TAIL) - 1, second / chdtri(second, 1 - TAIL) - 1
    g12 = ((f_high - 1) ** 2 - (g1 * f_high) ** 2 - h2**2) / f_high
    h12 = ((1 - f_low) ** 2 - (h1 * f_low) ** 2 - g2**2) / f_low
    both = larger * smaller
    down = (g1 * larger) ** 2 + (h2 * smaller) ** 2 + g12 * both
    up = (h1 * larger) ** 2 + (g2 * smaller) ** 2 + h12 * both
    difference = larger - smaller
    low, high = difference - sqrt(max(down, 0.0)), difference + sqrt(max(up, 0.0))
    return max(low, 0.0), max(high, 0.0)
