"""All pairs of settings, with the error of the whole family kept."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq
from scipy.special import nctdtr, ndtr, stdtr

from dotloupe.compare.studentized import range_quantile, range_survival

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.gather import Sample

FAMILY_ERROR = 0.05
POWER = 0.80
MOST_PRINTS = 200
"""A pair that would take more prints a setting than this is called open for good."""


@dataclass(frozen=True)
class PairDifference:
    """One setting against another.

    Attributes
    ----------
    setting, other : str
        The difference is `setting` minus `other`.
    difference, low, high : float
        In the criterion's unit; the intervals of all pairs hold together with 95 %.
    percent, percent_low, percent_high : float
        The same in per cent of the mean of `other`.
    p_value : float or None
        Corrected for all pairs. None where nothing is known about the spread.
    distinguishable : bool
        The difference is larger than what repeats vary by.
    smallest_difference : float or None
        True difference that this test would have found in 80 of 100 repetitions.
    prints_to_settle : int or None
        Prints a setting that would find, with the same chance, a true difference as large as the
        one seen; None for a settled pair and where more than 200 would be needed.
    """

    setting: str
    other: str
    difference: float
    percent: float | None
    distinguishable: bool = False
    low: float | None = None
    high: float | None = None
    percent_low: float | None = None
    percent_high: float | None = None
    p_value: float | None = None
    smallest_difference: float | None = None
    prints_to_settle: int | None = None


@dataclass(frozen=True)
class _Family:
    """All settings compared: how many, at what error, and their pooled variance of one print."""

    groups: int
    error: float
    variance: float
    degrees: float


@dataclass(frozen=True)
class _Test:
    """Standard error of a difference and the degrees of freedom behind it."""

    error: float
    degrees: float

    def critical(self, groups: int, family_error: float) -> float:
        return range_quantile(groups, self.degrees, family_error) / np.sqrt(2)

    def p_value(self, difference: float, groups: int) -> float:
        return range_survival(abs(difference) / self.error * np.sqrt(2), groups, self.degrees)


def compare_pairs(
    samples: Sequence[Sample], *, family_error: float = FAMILY_ERROR
) -> tuple[PairDifference, ...]:
    """Compare every pair of settings on one criterion.

    Parameters
    ----------
    samples : sequence of Sample
        One a setting, best first if the differences are to be gains.
    family_error : float
        Chance that any pair is told apart where none differs truly.

    Returns
    -------
    tuple of PairDifference

    Notes
    -----
    A pair is told apart only where two tests agree on the studentised range: Tukey and Kramer's,
    which pools the spread of all settings, and Games and Howell's (1976), which gives each setting
    its own. The first alone claims too much where settings scatter differently, the second alone
    where there are many settings of few prints; both together keep the family's error within half
    a per cent of 5 % up to four-fold spreads (simulated, two to five prints a setting, as many of
    each). The spread is never taken to be less than what the photographs' own intervals say. With
    one print a setting those intervals are all there is.
    """
    family = _Family(len(samples), family_error, *_pooled_variance(samples))
    return tuple(_compare(a, b, family) for a, b in combinations(samples, 2))


def _pooled_variance(samples: Sequence[Sample]) -> tuple[float, float]:
    """Variance of one print's value over all settings, and its degrees of freedom."""
    repeated = [s for s in samples if s.n > 1]
    within = float(np.mean([np.nan_to_num(s.within_variance) for s in samples]))
    degrees = sum(s.n - 1 for s in repeated)
    if not degrees:
        return float("nan"), 0.0
    between = sum((s.n - 1) * s.between_variance for s in repeated) / degrees
    return max(between, within), float(degrees)


def own_variance(one: Sample) -> float:
    """Variance of the mean of a setting by its own prints, at least what its intervals say."""
    return float(np.fmax(one.between_variance, one.within_variance)) / one.n


def _tests(a: Sample, b: Sample, family: _Family) -> tuple[_Test, ...]:
    tests = []
    if family.degrees:
        error = np.sqrt(family.variance * (1 / a.n + 1 / b.n))
        tests.append(_Test(float(error), family.degrees))
    own = own_variance(a) + own_variance(b)
    if min(a.n, b.n) > 1:
        tests.append(_Test(float(np.sqrt(own)), _welch_degrees(a, b)))
    elif not family.degrees:
        tests.append(_Test(float(np.sqrt(own)), np.inf))
    return tuple(t for t in tests if t.error > 0)


def _welch_degrees(a: Sample, b: Sample) -> float:
    """Degrees of freedom of a sum of two estimated variances (Welch and Satterthwaite)."""
    shares = np.array([own_variance(a), own_variance(b)])
    total = shares.sum()
    if not (np.isfinite(total) and total > 0):
        return 1.0
    return float(1 / np.sum((shares / total) ** 2 / (np.array([a.n, b.n]) - 1)))


def _compare(a: Sample, b: Sample, family: _Family) -> PairDifference:
    difference = a.mean - b.mean
    tests = _tests(a, b, family)
    if not tests or not np.isfinite(difference):
        return PairDifference(a.setting, b.setting, difference, _percent(difference, b.mean))
    critical = [t.critical(family.groups, family.error) for t in tests]
    half = max(t.error * c for t, c in zip(tests, critical, strict=True))
    settled = abs(difference) > half
    low, high = difference - half, difference + half
    return PairDifference(
        setting=a.setting,
        other=b.setting,
        difference=difference,
        low=low,
        high=high,
        percent=_percent(difference, b.mean),
        percent_low=_percent(low, b.mean),
        percent_high=_percent(high, b.mean),
        p_value=max(t.p_value(difference, family.groups) for t in tests),
        distinguishable=bool(settled),
        smallest_difference=max(
            t.error * detectable_ratio(c, t.degrees) for t, c in zip(tests, critical, strict=True)
        ),
        prints_to_settle=None if settled else _prints_to_settle(a, b, family),
    )


def _percent(difference: float, reference: float) -> float | None:
    return 100 * difference / abs(reference) if reference else None


@lru_cache(maxsize=4096)
def detectable_ratio(critical: float, degrees: float) -> float:
    """True difference over its standard error that is found with 80 % chance.

    Parameters
    ----------
    critical : float
        Difference over its standard error from which on it is claimed.
    degrees : float
        Degrees of freedom of the standard error.
    """

    def missing(ratio: float) -> float:
        if np.isinf(degrees):
            return float(ndtr(critical - ratio)) - (1 - POWER)
        return float(nctdtr(degrees, ratio, critical)) - (1 - POWER)

    spread = 1.0 if np.isinf(degrees) else -float(stdtr(degrees, -1.0)) + 1.0
    return float(brentq(missing, 0.0, (critical + 1) * (2 + spread), xtol=1e-4))


def _prints_to_settle(a: Sample, b: Sample, family: _Family) -> int | None:
    """Least number of prints a setting at which the difference seen would be found."""
    if not family.degrees:
        return None
    difference = abs(a.mean - b.mean)
    spreads = [s.n * own_variance(s) if s.n > 1 else family.variance for s in (a, b)]
    variance = max(sum(spreads), 2 * family.variance)

    def found(prints: int) -> bool:
        degrees = 2.0 * (prints - 1)
        critical = range_quantile(family.groups, degrees, family.error) / np.sqrt(2)
        needed = np.sqrt(variance / prints) * detectable_ratio(critical, degrees)
        return bool(difference >= needed)

    fewest, most = max(a.n, b.n) + 1, MOST_PRINTS
    if not found(most):
        return None
    while fewest < most:
        middle = (fewest + most) // 2
        if found(middle):
            most = middle
        else:
            fewest = middle + 1
    return fewest
