"""How prints are known to vary from earlier ones, and whether the present ones speak against it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.prints import Sample

LARGER, SMALLER = 0.17, 0.05
"""Chances of a present spread as much larger, or smaller, below which the known one is left out.

A present spread twice the known one must be noticed on four degrees of freedom, so the first is
high. No rule does much better: `tests/compare/known_spread_benchmark.py` has the bound.
"""

OWN_CHANCE = 0.12
"""Chance of the present prints' own test, which must agree: more than the usual one."""

FEWEST_DEGREES = 2


@dataclass(frozen=True)
class KnownSpread:
    """Variance of a print's value, as earlier prints show it.

    Attributes
    ----------
    variance : float
        In the square of the unit, or where `by_ratio` of the value's logarithm.
    degrees : float
        Degrees of freedom behind it.
    by_ratio : bool
    """

    variance: float
    degrees: float
    by_ratio: bool = False

    def at(self, mean: float) -> KnownSpread:
        """The spread of values about a mean, in their unit."""
        if not self.by_ratio:
            return self
        return KnownSpread(self.variance * mean**2, self.degrees)


def pooled_variance(samples: Sequence[Sample]) -> tuple[float, float]:
    """Variance of one print's value over all settings, and its degrees of freedom."""
    repeated = [s for s in samples if s.n > 1 and not s.at_least]
    degrees = sum(s.n - 1 for s in repeated)
    if not degrees:
        return float("nan"), 0.0
    between = sum((s.n - 1) * s.between_variance for s in repeated) / degrees
    return between, float(degrees)


def agrees(known: KnownSpread, samples: Sequence[Sample]) -> bool:
    """Whether an F test leaves nothing against one spread of earlier and present prints."""
    from scipy.special import fdtr, fdtrc

    present, degrees = pooled_variance(samples)
    if degrees < FEWEST_DEGREES or not known.variance > 0:
        return False
    ratio = present / known.variance
    larger = float(fdtrc(degrees, known.degrees, ratio))
    return larger > LARGER and float(fdtr(degrees, known.degrees, ratio)) > SMALLER
