"""All pairs of settings, with the error of the whole family kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.known_spread import OWN_CHANCE, KnownSpread, pooled_variance
from dotloupe.compare.studentized import range_quantile, range_survival

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.prints import Sample

FAMILY_ERROR = 0.05
POWER = 0.80
GUARD = 0.25
FEW_PRINTS = 5
SPREADS_AGREE = 0.6
FEWEST_FOR_ONE_SPREAD = 3
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
    at_least : bool
        The better setting's mean is a lower bound, so that the difference is one too; `low` and
        `high` are None.
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
    at_least: bool = False


@dataclass(frozen=True)
class _Family:
    """All settings compared: how many, at what error, their pooled variance of one print.

    `alike` says that the settings' own spreads agree, so that the pooled one does alone.
    """

    groups: int
    error: float
    variance: float
    degrees: float
    alike: bool
    known: KnownSpread | None = None


@dataclass(frozen=True)
class _Test:
    """Standard error of a difference and the degrees of freedom behind it.

    `share` is that of the family's error at which it claims.
    """

    error: float
    degrees: float
    share: float = 1.0

    def critical(self, groups: int, family_error: float) -> float:
        return range_quantile(groups, self.degrees, self.share * family_error) / np.sqrt(2)

    def p_value(self, difference: float, groups: int) -> float:
        ratio = abs(difference) / self.error * np.sqrt(2)
        return min(1.0, range_survival(ratio, groups, self.degrees) / self.share)


def compare_pairs(
    samples: Sequence[Sample],
    *,
    family_error: float = FAMILY_ERROR,
    known: KnownSpread | None = None,
) -> tuple[PairDifference, ...]:
    """Compare every pair of settings on one criterion.

    Parameters
    ----------
    samples : sequence of Sample
        One a setting, best first if the differences are to be gains.
    family_error : float
        Chance that any pair is told apart where none differs truly.
    known : KnownSpread, optional
        How prints are known to vary, which `agrees` with these samples.

    Returns
    -------
    tuple of PairDifference

    Notes
    -----
    A pair is told apart only where every test agrees that applies. Two are on the studentised
    range: Tukey and Kramer's, which pools the spread of all settings, and Games and Howell's
    (1976), which gives each setting its own, guarded for few prints as `_own_spread` says. Of three
    settings on, with as many prints of each, the first does alone where their spreads agree. A
    further one asks whether the difference exceeds what the photographs' own intervals leave open.
    Together they claim a difference where there is none in at most 5 % of families for two to eight
    prints a setting and spreads up to three to one (simulated; 5.2 % at four to one). With one
    print a setting the intervals are all there is.
    """
    pooled = pooled_variance(samples)
    alike = _spreads_agree(samples)
    family = _Family(len(samples), family_error, *pooled, alike=alike, known=known)
    return tuple(_compare(a, b, family) for a, b in combinations(samples, 2))


def half_width(a: Sample, b: Sample) -> float:
    """Difference of two settings from which on it is claimed; infinite where nothing is known."""
    pooled = pooled_variance((a, b))
    tests = _tests(a, b, _Family(2, FAMILY_ERROR, *pooled, alike=False))
    return max((t.error * t.critical(2, FAMILY_ERROR) for t in tests), default=np.inf)


def _spreads_agree(samples: Sequence[Sample]) -> bool:
    """Whether Bartlett's test (1937) leaves nothing against one spread of several settings.

    The probability asked for is high, so that spreads that differ are not taken for one.
    """
    numbers = {s.n for s in samples}
    if any(s.at_least for s in samples):
        return False
    if len(samples) <= 2 or len(numbers) > 1 or numbers.pop() < FEWEST_FOR_ONE_SPREAD:
        return False
    variances = np.array([s.between_variance for s in samples])
    if not np.all(variances > 0):
        return False
    count, degrees = len(samples), samples[0].n - 1
    excess = count * np.log(variances.mean()) - np.log(variances).sum()
    statistic = degrees * excess / (1 + (count + 1) / (3 * count * degrees))
    return float(scipy.special.chdtrc(count - 1, statistic)) > SPREADS_AGREE


def _tests(a: Sample, b: Sample, family: _Family) -> tuple[_Test, ...]:
    tests = [_Test(_interval_error(a, b), np.inf)]
    if family.degrees:
        error = np.sqrt(family.variance * (1 / a.n + 1 / b.n))
        if family.known is not None:
            own = _Test(float(error), family.degrees, OWN_CHANCE / FAMILY_ERROR)
            tests += [own, _with_known(family, family.known, a, b)]
            return tuple(t for t in tests if t.error > 0)
        tests.append(_Test(float(error), family.degrees))
    if min(a.n, b.n) > 1 and not family.alike:
        tests.append(_own_spread(a, b, family))
    return tuple(t for t in tests if t.error > 0)


def _with_known(family: _Family, known: KnownSpread, a: Sample, b: Sample) -> _Test:
    """The test of Tukey and Kramer with the spread of earlier prints pooled in."""
    degrees = family.degrees + known.degrees
    variance = (family.variance * family.degrees + known.variance * known.degrees) / degrees
    return _Test(float(np.sqrt(variance * (1 / a.n + 1 / b.n))), degrees)


def _interval_error(a: Sample, b: Sample) -> float:
    """Standard error of the difference by the photographs' own intervals alone."""
    within = np.array([a.within_variance / a.n, b.within_variance / b.n])
    return float(np.sqrt(within.sum() if a.n == b.n == 1 else np.nansum(within)))


def _own_spread(a: Sample, b: Sample, family: _Family) -> _Test:
    """Games and Howell's test, guarded for few prints.

    Welch's degrees of freedom are estimated, and where a setting of few prints has the larger
    spread by nature and the smaller one by chance, they promise too much. Banerjee (1961) gives
    each setting the quantile of its own degrees of freedom, which never claims too much and finds
    little. The squares of the two are mixed, with more of Banerjee's the less even the numbers of
    prints are. Of two settings alone it is a quarter for few prints, as many of each; a family of
    more is careful enough without, as two prints of each are.
    """
    parts = np.array([a.between_variance / a.n, b.between_variance / b.n])
    total, own = float(parts.sum()), np.array([a.n - 1, b.n - 1])
    if not total > 0:
        return _Test(0.0, float(own.sum()))
    degrees = float(1 / np.sum((parts / total) ** 2 / own))
    quantiles = [range_quantile(family.groups, float(d), family.error) for d in (*own, degrees)]
    careful = float(parts @ np.square(quantiles[:2])) / quantiles[2] ** 2
    share = _guard(a.n, b.n, family.groups)
    return _Test(float(np.sqrt((1 - share) * total + share * careful)), degrees)


def _guard(first: int, second: int, groups: int) -> float:
    """Share of Banerjee's test in the mixture."""
    fewer, more = sorted((first, second))
    if more == 2:
        return 0.0
    even = GUARD * min(1.0, FEW_PRINTS / more) if groups == 2 else 0.0
    return 1 - fewer / more * (1 - even)


def _compare(a: Sample, b: Sample, family: _Family) -> PairDifference:
    if a.at_least or b.at_least:
        return _with_bounds(a, b, family)
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


def _with_bounds(a: Sample, b: Sample, family: _Family) -> PairDifference:
    """A pair of which one mean or both are lower bounds.

    A bound above what the other's interval reaches is above it; a bound below leaves the order
    open, and so do two bounds.
    """
    difference = a.least - b.least
    undecided = PairDifference(
        a.setting, b.setting, difference, _percent(difference, b.least), p_value=1.0, at_least=True
    )
    if a.at_least and b.at_least:
        return undecided
    sign, bound, known = (1, a, b) if a.at_least else (-1, b, a)
    tests = [_Test(float(np.sqrt(known.within_variance / known.n)), np.inf)]
    if family.degrees:
        error = np.sqrt(family.variance * (1 / bound.n + 1 / known.n))
        tests.append(_Test(float(error), family.degrees))
    tests = [t for t in tests if t.error > 0]
    ahead = sign * difference
    if not tests or ahead <= 0:
        return replace(undecided, p_value=1.0 if tests else None)
    half = max(t.error * t.critical(family.groups, family.error) for t in tests)
    return replace(
        undecided,
        distinguishable=bool(ahead > half),
        p_value=max(t.p_value(ahead, family.groups) for t in tests),
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
            return float(scipy.special.ndtr(critical - ratio)) - (1 - POWER)
        return float(scipy.special.nctdtr(degrees, ratio, critical)) - (1 - POWER)

    spread = 1.0 if np.isinf(degrees) else -float(scipy.special.stdtr(degrees, -1.0)) + 1.0
    return float(scipy.optimize.brentq(missing, 0.0, (critical + 1) * (2 + spread), xtol=1e-4))


def _prints_to_settle(a: Sample, b: Sample, family: _Family) -> int | None:
    """Least number of prints a setting at which the difference seen would be found."""
    if not family.degrees:
        return None
    difference = abs(a.mean - b.mean)
    spreads = [s.between_variance if s.n > 1 else family.variance for s in (a, b)]
    within = np.nansum([a.within_variance, b.within_variance])
    variance = max(float(sum(spreads)), 2 * family.variance, float(within))

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
