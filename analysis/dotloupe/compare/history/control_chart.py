"""Control charts: how far the latest visit, and the run of visits, lies from a baseline.

The individuals chart compares the latest value (Shewhart 1931). The exponentially weighted moving
average gathers small changes of one sign over visits (Roberts, Technometrics 1 (1959) 239; Lucas
and Saccucci, Technometrics 32 (1990) 1). Both are from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt

import scipy

from dotloupe.compare.history.series import Visit

MEMORY = 0.4
"""Weight of the latest visit in the moving average: 0.2 to 0.4 suits changes of one standard error
or two (Lucas and Saccucci)."""

OWN_SPREAD_ERROR = 0.01
"""Chance at which a number's visits differ by more than those of the others, to count alone."""


@dataclass(frozen=True)
class Spread:
    """What repeats vary by.

    Attributes
    ----------
    variance : float
        Of a print about its visit's mean.
    degrees : float
    visits : float
        Variance of visits over that of prints.
    """

    variance: float
    degrees: float
    visits: float = 0.0

    def of_mean(self, visits: Sequence[Visit]) -> float:
        """Variance of the mean over all prints of visits, in units of a print's."""
        n = sum(v.n for v in visits)
        return 1 / n + self.visits * sum(v.n**2 for v in visits) / n**2


@dataclass(frozen=True)
class Departure:
    """The latest visit against its baseline.

    Attributes
    ----------
    difference, error : float
        Latest less baseline and its standard error, on the scale that is compared.
    degrees : float
    visit, average : float
        Student's t of the latest visit and of the moving average.
    """

    difference: float
    error: float
    degrees: float
    visit: float
    average: float

    def chance(self, side: int) -> float:
        """Chance of lying as far out without a change, by the clearer of the two charts.

        Parameters
        ----------
        side : int
            1 above, -1 below, 0 on either side.
        """
        return min(tail(self.visit, self.degrees, side), tail(self.average, self.degrees, side))


def tail(t: float, degrees: float, side: int) -> float:
    """Probability of a Student's t as far out, on one side or (0) on either."""
    if side:
        return float(scipy.special.stdtr(degrees, -side * t))
    return 2 * float(scipy.special.stdtr(degrees, -abs(t)))


def print_spread(visits: Sequence[Visit], measured_variance: float) -> Spread | None:
    """Variance of prints within visits, pooled; at least what the measurement alone makes.

    Where no visit has two prints it is that of single prints between visits, by their moving range
    (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, from memory), on as many degrees as
    there are ranges less a third (their neighbours share a print); None for fewer than three.
    """
    degrees = float(sum(v.n - 1 for v in visits))
    if degrees:
        pooled = sum(v.squares for v in visits) / degrees
        return Spread(max(pooled, measured_variance), degrees)
    if len(visits) < FEWEST_SINGLE:
        return None
    sigma = moving_range_sigma([v.mean for v in visits])
    return Spread(max(sigma**2, measured_variance), RANGE_DEGREES * (len(visits) - 1))


FEWEST_SINGLE = 3
MOVING_RANGE = 2 / sqrt(pi)
"""Mean range of two normal values over their standard deviation, 1.128."""
RANGE_DEGREES = 0.62
"""Degrees of freedom of the mean moving range over the number of ranges, for long series."""


def moving_range_sigma(values: Sequence[float]) -> float:
    """Standard deviation of single values in order of time, by their mean moving range."""
    ranges = [abs(b - a) for a, b in pairwise(values)]
    return sum(ranges) / len(ranges) / MOVING_RANGE


def visits_ratio(baseline: Sequence[Visit], spread: Spread) -> tuple[float, float] | None:
    """Mean square between the visits of a baseline over that within, and its degrees of freedom."""
    if len(baseline) < 2 or not spread.variance > 0:
        return None
    centre = mean_of(baseline)
    between = sum(v.n * (v.mean - centre) ** 2 for v in baseline) / (len(baseline) - 1)
    return between / spread.variance, float(len(baseline) - 1)


def mean_of(visits: Sequence[Visit]) -> float:
    """Mean over all prints of visits, on the scale that is compared."""
    return sum(v.n * v.mean for v in visits) / sum(v.n for v in visits)


def with_visits(
    spread: Spread, baseline: Sequence[Visit], own: tuple[float, float] | None, common: float
) -> Spread:
    """The spread with what visits add to it.

    Parameters
    ----------
    spread : Spread
    baseline : sequence of Visit
    own : (float, float) or None
        As `visits_ratio` gives it.
    common : float
        Variance of visits over that of prints, as all numbers together show it.
    """
    visits = common
    if own is not None:
        ratio, degrees = own
        n = sum(v.n for v in baseline) / len(baseline)
        against = ratio / (1 + n * common)
        if scipy.special.fdtrc(degrees, spread.degrees, against) < OWN_SPREAD_ERROR:
            visits = (ratio - 1) / n
    return Spread(spread.variance, spread.degrees, visits)


def departure(
    phase: Sequence[Visit], baseline: Sequence[Visit], spread: Spread
) -> Departure | None:
    """Latest of the visits of a phase against the baseline, alone and with those before it.

    Parameters
    ----------
    phase : sequence of Visit
        Visits since the phase began, in order of time; the last is the one that is judged.
    baseline : sequence of Visit
        Those among them, or before them, that the last is compared with.
    spread : Spread

    Returns
    -------
    Departure or None
        None where prints do not vary at all.

    Notes
    -----
    Each visit is compared with the baseline visits before it, in units of its own standard error
    (as in a self-starting chart; Hawkins, J. Qual. Technol. 19 (1987) 86, from memory). Their
    moving average is a sum of visit means with known weights, of which the standard error is exact
    whichever visits the baseline holds.
    """
    if not spread.variance > 0:
        return None
    steps = [(visit, _earlier(visit, baseline)) for visit in phase]
    compared = [(visit, earlier) for visit, earlier in steps if earlier]
    if not compared or not steps[-1][1]:
        return None
    sigma = sqrt(spread.variance)
    weights = dict[Visit, float]()
    for visit, earlier in compared:
        error = sqrt(spread.of_mean([visit]) + spread.of_mean(earlier))
        weights = {v: (1 - MEMORY) * w for v, w in weights.items()}
        total = sum(v.n for v in earlier)
        for other, weight in ((visit, 1.0), *((v, -v.n / total) for v in earlier)):
            weights[other] = weights.get(other, 0.0) + MEMORY * weight / error
    last, earlier = compared[-1]
    difference = last.mean - mean_of(earlier)
    error = sigma * sqrt(spread.of_mean([last]) + spread.of_mean(earlier))
    average = sum(w * v.mean for v, w in weights.items())
    average_error = sigma * sqrt(sum(w**2 * spread.of_mean([v]) for v, w in weights.items()))
    return Departure(difference, error, spread.degrees, difference / error, average / average_error)


def _earlier(visit: Visit, baseline: Sequence[Visit]) -> list[Visit]:
    return [v for v in baseline if v.day < visit.day]


def student_half_width(error: float, degrees: float, chance: float) -> float:
    """Distance from a mean that is exceeded on one side by this chance."""
    return float(scipy.special.stdtrit(degrees, 1 - chance)) * error
