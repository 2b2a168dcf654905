"""Contrasts of cell means estimated, with intervals that hold together over a family of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.pairs import FAMILY_ERROR, detectable_ratio

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.arrays import FloatArray
    from dotloupe.compare.effects.design import Cell
    from dotloupe.compare.prints import Sample


class SpreadSource(StrEnum):
    """What tells by how much prints of one cell vary."""

    REPEATS = "repeats"
    HIGHER_ORDER = "interactions of higher order"
    HISTORY = "history"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Spread:
    """Variance of one print's value that all cells share, in the criterion's unit squared.

    Attributes
    ----------
    source : SpreadSource
    variance : float
        NaN where it is unknown.
    degrees : float
        Degrees of freedom behind it; infinite where it is taken as known.
    prior_degrees : float
        Degrees of freedom with which it enters the spread of each single cell: 0 leaves each cell
        its own, infinity gives all the common one.
    """

    source: SpreadSource
    variance: float
    degrees: float
    prior_degrees: float = 0.0


UNKNOWN_SPREAD = Spread(SpreadSource.UNKNOWN, float("nan"), 0.0)


@dataclass(frozen=True)
class Estimate:
    """A contrast of cell means.

    Attributes
    ----------
    difference : float
        In the criterion's unit.
    low, high : float or None
        95 % interval that holds together with the others of its family; None where nothing tells
        how prints vary.
    standard_error, degrees : float or None
        Of the difference, and the degrees of freedom behind it; infinite degrees are None.
    p_value : float or None
        Adjusted for the family.
    distinguishable : bool
        The interval leaves out zero.
    smallest_difference : float or None
        True difference that would have been found in 80 of 100 repetitions.
    n : int
        Number of prints in the cells used.
    """

    difference: float
    n: int
    low: float | None = None
    high: float | None = None
    standard_error: float | None = None
    degrees: float | None = None
    p_value: float | None = None
    distinguishable: bool = False
    smallest_difference: float | None = None


@dataclass(frozen=True)
class _Error:
    """Standard error of a contrast and its degrees of freedom, by one account of the spread."""

    size: float
    degrees: float

    def critical(self, error: float) -> float:
        if np.isinf(self.degrees):
            return float(-scipy.special.ndtri(error / 2))
        return float(scipy.special.stdtrit(self.degrees, 1 - error / 2))

    def p_value(self, difference: float) -> float:
        t = -abs(difference) / self.size
        return 2 * float(
            scipy.special.ndtr(t)
            if np.isinf(self.degrees)
            else scipy.special.stdtr(self.degrees, t)
        )


def estimates(
    family: Sequence[Mapping[Cell, float]],
    samples: Mapping[Cell, Sample],
    spread: Spread,
) -> tuple[Estimate, ...]:
    """Estimate a family of contrasts.

    Parameters
    ----------
    family : sequence of mapping of cell to float
        Weights of the cell means, a mapping for each contrast.
    samples : mapping of cell to Sample
    spread : Spread
        Variance of one print, where a cell has no repeat of its own.

    Returns
    -------
    tuple of Estimate

    Notes
    -----
    Each contrast has the error `1 - (1 - FAMILY_ERROR)^(1/k)` of Sidak, J. Am. Stat. Assoc. 62
    (1967) 626: k intervals of normal quantities hold together at least so often, however they are
    correlated (from memory). Three accounts of the spread give three intervals, and the widest is
    taken. One pools the variance over all cells. One gives each cell its own, with the degrees of
    freedom of Welch, Biometrika 34 (1947) 28, in his second form with n + 1 and - 2, which of few
    prints is the less biased one; between the first form and those of all cells together (from
    memory). One asks what the photographs' own intervals leave open.
    """
    error = 1 - (1 - FAMILY_ERROR) ** (1 / max(len(family), 1))
    return tuple(_estimate(weights, samples, spread, error, len(family)) for weights in family)


def _estimate(
    weights: Mapping[Cell, float],
    samples: Mapping[Cell, Sample],
    spread: Spread,
    error: float,
    size: int,
) -> Estimate:
    used = [samples[c] for c in weights]
    w = np.array(list(weights.values()))
    difference = float(w @ np.array([s.mean for s in used]))
    n = sum(s.n for s in used)
    errors = [e for e in _errors(w, used, spread) if e.size > 0]
    bounded = any(s.at_least for s in used)
    if bounded or spread.source is SpreadSource.UNKNOWN or not errors:
        return Estimate(difference, n)
    widest = max(errors, key=lambda e: e.size * e.critical(error))
    half = widest.size * widest.critical(error)
    p_value = max(e.p_value(difference) for e in errors)
    return Estimate(
        difference=difference,
        n=n,
        low=difference - half,
        high=difference + half,
        standard_error=widest.size,
        degrees=None if np.isinf(widest.degrees) else widest.degrees,
        p_value=1 - (1 - p_value) ** size,
        distinguishable=abs(difference) > half,
        smallest_difference=widest.size * detectable_ratio(widest.critical(error), widest.degrees),
    )


def _errors(w: FloatArray, used: Sequence[Sample], spread: Spread) -> list[_Error]:
    n = np.array([s.n for s in used], float)
    within = np.array([s.within_variance for s in used])
    found = [
        _Error(float(np.sqrt(np.sum(w**2 * spread.variance / n))), spread.degrees),
        _Error(float(np.sqrt(np.nansum(w**2 * within / n))), float("inf")),
    ]
    if spread.source is SpreadSource.REPEATS:
        found.append(_own_spreads(w, used, spread))
    return found


def _own_spreads(w: FloatArray, used: Sequence[Sample], spread: Spread) -> _Error:
    """Return the error with each cell's own spread, drawn to the common one by its prior degrees.

    A cell of one print takes the common one.
    """
    n = np.array([s.n for s in used], float)
    prior = spread.prior_degrees
    if np.isinf(prior):
        return _Error(float(np.sqrt(np.sum(w**2 * spread.variance / n))), spread.degrees)
    own = np.array([s.between_variance if s.n > 1 else spread.variance for s in used])
    degrees = np.where(n > 1, prior + n - 1, spread.degrees)
    own = (prior * spread.variance + (n - 1) * own) / (prior + n - 1) if prior else own
    parts = w**2 * own / n
    total = float(parts.sum())
    if not total > 0:
        return _Error(0.0, spread.degrees)
    first = total**2 / float(np.sum(parts**2 / degrees))
    second = total**2 / float(np.sum(parts**2 / (degrees + 2))) - 2
    return _Error(float(np.sqrt(total)), min(max(first, second), spread.degrees))
