"""Smallest difference of two settings that prints find, by the test of `compare_pairs`."""

from __future__ import annotations

from functools import lru_cache
from math import nan, sqrt
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.pairs import FAMILY_ERROR, POWER, detectable_ratio, half_width
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.compare.studentized import range_quantile

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

MOST_GUARDED = 12
"""Prints a setting up to which the test's guard for few prints counts; beyond, Student's t does."""

LEVELS = 24
"""Equally likely spreads of each setting that the chance is averaged over."""


def smallest_difference(variance: float, prints: int) -> float:
    """True difference of two settings that is found in 80 of 100 tests at 5 %.

    Parameters
    ----------
    variance : float
        Of a print's value, alike in both settings.
    prints : int
        Prints of each setting, two or more.
    """
    return sqrt(variance) * _smallest(prints)


@lru_cache(maxsize=512)
def _smallest(prints: int) -> float:
    """The same for a variance of one."""
    degrees = 2.0 * (prints - 1)
    critical = range_quantile(2, degrees, FAMILY_ERROR) / sqrt(2)
    student = sqrt(2 / prints) * detectable_ratio(critical, degrees)
    if prints > MOST_GUARDED:
        return student
    claimed, error = _half_widths(prints), sqrt(2 / prints)

    def missing(difference: float) -> float:
        found = scipy.special.ndtr((difference - claimed) / error) + scipy.special.ndtr(
            (-difference - claimed) / error
        )
        return float(np.mean(found)) - POWER

    return float(scipy.optimize.brentq(missing, 0.5 * student, 8 * student, xtol=1e-4))


def _half_widths(prints: int) -> FloatArray:
    """Differences from which on the test claims one, for equally likely spreads of two settings."""
    own = (prints - 1) / 2
    levels = (np.arange(LEVELS) + 0.5) / LEVELS
    spreads = np.sqrt(scipy.special.gammaincinv(own, levels) / own)
    pattern = np.arange(prints) - (prints - 1) / 2
    pattern = pattern / pattern.std(ddof=1)
    samples = [_sample(s * pattern) for s in spreads]
    return np.array([half_width(a, b) for a in samples for b in samples])


def _sample(values: FloatArray) -> Sample:
    return Sample("", tuple(PrintValue("", float(v), nan, 1) for v in values))
