"""The ppi sent as a factor: a ladder for each combination of the others; and if they differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.ladder import ladder
from dotloupe.compare.pairs import FAMILY_ERROR
from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import Interval
    from dotloupe.compare.effects.criterion_effects import CriterionEffects
    from dotloupe.compare.effects.design import Cell, Factor, Level
    from dotloupe.compare.ladder import CriterionLadder
    from dotloupe.compare.prints import Sample
    from dotloupe.measurement import Measurement

PPI = "ppi"
FEWEST_LEVELS = 4
"""Of ppi, under which there is no trend to compare."""


@dataclass(frozen=True)
class Line:
    """The ladder of one combination of the other factors.

    Attributes
    ----------
    levels : mapping of str to str or float
    enough_ppi : float or None
        Least of the ppi sent that reaches the share of the plateau; None where none does.
    crossing_ppi : float
        Where the trend reaches it.
    crossing_interval : (float, float)
        Its 95 % interval.
    """

    levels: Mapping[str, Level]
    enough_ppi: float | None
    crossing_ppi: float
    crossing_interval: Interval


@dataclass(frozen=True)
class CrossingRatio:
    """By what factor one line takes more ppi than another; `low` to `high` holds for all pairs."""

    first: Mapping[str, Level]
    second: Mapping[str, Level]
    ratio: float
    low: float
    high: float

    @property
    def distinguishable(self) -> bool:
        """Whether the interval leaves out one."""
        return self.low > 1 or self.high < 1


@dataclass(frozen=True)
class Curves:
    """One criterion against the ppi sent, a line for each combination of the other factors.

    Attributes
    ----------
    name : str
        The criterion.
    share : float
        Share of the plateau that counts as enough.
    lines : tuple of Line
    ratios : tuple of CrossingRatio
        Every two lines whose trends are known.
    p_value : float or None
        That curves which are the same up to a factor differ as much as these; None where nothing
        tells how prints vary.
    """

    name: str
    share: float
    lines: tuple[Line, ...]
    ratios: tuple[CrossingRatio, ...]
    p_value: float | None

    @property
    def differ(self) -> bool:
        """Whether the curves are shown to be of different shape."""
        return self.p_value is not None and self.p_value < FAMILY_ERROR


def curves(
    factors: tuple[Factor, ...],
    criteria: Mapping[str, CriterionEffects],
    shots: Mapping[Cell, tuple[Measurement, ...]],
) -> tuple[Curves, ...]:
    """Ladders over the ppi sent, where ppi is a factor of four levels or more beside others.

    Parameters
    ----------
    factors : tuple of Factor
    criteria : mapping of str to CriterionEffects
    shots : mapping of cell to tuple of Measurement

    Returns
    -------
    tuple of Curves
        Of the criteria whose trends level off.
    """
    place = next((i for i, f in enumerate(factors) if f.name == PPI and f.is_number), None)
    if place is None or len(factors) < 2 or len(factors[place].levels) < FEWEST_LEVELS:
        return ()
    others = dict.fromkeys((*c[:place], *c[place + 1 :]) for c in shots)
    by_line = {
        o: {float(c[place]): m for c, m in shots.items() if (*c[:place], *c[place + 1 :]) == o}
        for o in others
    }
    climbs = {o: ladder(rungs) for o, rungs in by_line.items() if len(rungs) >= FEWEST_LEVELS}
    names = tuple(f.name for i, f in enumerate(factors) if i != place)
    found = []
    for name, criterion in criteria.items():
        risen = [
            (dict(zip(names, o, strict=True)), climb.criteria[name])
            for o, climb in climbs.items()
            if name in climb.criteria and climb.criteria[name].rise is not None
        ]
        lines = [_line(levels, one) for levels, one in risen]
        if lines:
            share = next(iter(climbs.values())).share
            p_value = _same_shape(place, criterion.samples)
            found.append(Curves(name, share, tuple(lines), _ratios(lines), p_value))
    return tuple(found)


def _line(levels: Mapping[str, Level], climb: CriterionLadder) -> Line:
    rise = climb.rise
    if rise is None:
        raise ValueError("a line is of a ladder that has a trend")
    return Line(levels, rise.enough_ppi, rise.crossing_ppi, rise.crossing_interval)


def _ratios(lines: Sequence[Line]) -> tuple[CrossingRatio, ...]:
    """Ratios of the crossings, their logarithms taken as normal, adjusted as Sidak (1967) does."""
    known = [line for line in lines if np.all(np.isfinite(np.log(line.crossing_interval)))]
    pairs = list(combinations(known, 2))
    if not pairs:
        return ()
    critical = -float(scipy.special.ndtri((1 - (1 - FAMILY_ERROR) ** (1 / len(pairs))) / 2))
    found = []
    for first, second in pairs:
        errors = [np.diff(np.log(x.crossing_interval))[0] / 2 / NORMAL_95 for x in (first, second)]
        half = critical * float(np.hypot(*errors))
        ratio = second.crossing_ppi / first.crossing_ppi
        ends = (float(ratio * np.exp(-half)), float(ratio * np.exp(half)))
        found.append(CrossingRatio(first.levels, second.levels, ratio, *ends))
    return tuple(found)


def _same_shape(place: int, samples: Mapping[Cell, Sample]) -> float | None:
    """Test by Wald's statistic that the logarithms of all lines run parallel over the ppi.

    The spread of the logarithm is pooled over all cells; without a repeat the photographs' own
    intervals take its place.
    """
    line_of = {c: (*c[:place], *c[place + 1 :]) for c in samples}
    lines = list(dict.fromkeys(line_of.values()))
    every = list(dict.fromkeys(c[place] for c in samples))
    cell = {(line_of[c], c[place]): c for c in samples}
    ppi = [p for p in every if all((line, p) in cell for line in lines)]
    if len(lines) < 2 or len(ppi) < 2:
        return None
    used = [[samples[cell[line, p]] for p in ppi] for line in lines]
    means = np.log([[s.mean for s in row] for row in used])
    flat = [s for row in used for s in row]
    degrees = sum(s.n - 1 for s in flat)
    relative = [s.between_variance / s.mean**2 * (s.n - 1) for s in flat if s.n > 1]
    if degrees:
        variances = np.array([sum(relative) / degrees / s.n for s in flat])
    else:
        variances = np.array([s.within_variance / s.mean**2 for s in flat])
    if not np.all(variances > 0):
        return None
    contrasts = np.kron(
        np.hstack([-np.ones((len(lines) - 1, 1)), np.eye(len(lines) - 1)]),
        np.hstack([-np.ones((len(ppi) - 1, 1)), np.eye(len(ppi) - 1)]),
    )
    differences = contrasts @ means.ravel()
    statistic = differences @ np.linalg.solve(
        contrasts @ np.diag(variances) @ contrasts.T, differences
    )
    size = len(differences)
    if degrees:
        return float(scipy.special.fdtrc(size, degrees, statistic / size))
    return float(scipy.special.chdtrc(size, statistic))
