"""How much prints of one cell vary: by repeats, else by interactions of higher order."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.effects.estimates import UNKNOWN_SPREAD, Spread, SpreadSource

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.arrays import FloatArray
    from dotloupe.compare.effects.design import Cell, Factor
    from dotloupe.compare.known_spread import KnownSpread
    from dotloupe.compare.prints import Sample


PRIOR_DEGREES = (0.01, 1e4)
"""Between which the prior degrees of freedom are sought."""


def family_spreads(
    factors: tuple[Factor, ...], samples: Mapping[Cell, Sample], known: KnownSpread | None = None
) -> tuple[Spread, Spread]:
    """Spread for effects, and for interactions of two factors.

    Parameters
    ----------
    factors : tuple of Factor
    samples : mapping of cell to Sample
    known : KnownSpread, optional
        By earlier prints, which stands in where no cell is repeated.

    Notes
    -----
    Without a repeat or a history, interactions of two factors can be judged by those of three
    alone.
    """
    repeats = _repeat_spread(samples)
    if repeats.source is SpreadSource.REPEATS:
        return repeats, repeats
    if known is not None and samples:
        mean = float(np.mean([s.mean for s in samples.values()]))
        history = Spread(SpreadSource.HISTORY, known.at(mean).variance, known.degrees)
        return history, history
    orders = (2, 2) if len(factors) > 2 else (1, 2)
    first, second = (_higher_order_spread(factors, samples, order=order) for order in orders)
    return first, second


def moderated(spread: Spread, samples: Mapping[Cell, Sample]) -> Spread:
    """Return a spread by repeats that draws those of single cells to it, as alike as they are.

    Parameters
    ----------
    spread : Spread
    samples : mapping of cell to Sample

    Notes
    -----
    For effects within a level, which rest on few prints each. The prior degrees of freedom follow
    from how much the logarithms of the cells' variances scatter beyond what few prints explain:
    Smyth, Stat. Appl. Genet. Mol. Biol. 3 (2004) 3, his equations for d0; from memory.
    """
    repeated = [s for s in samples.values() if s.n > 1 and not s.at_least]
    variances = np.array([s.between_variance for s in repeated])
    if spread.source is not SpreadSource.REPEATS or not np.all(variances > 0):
        return spread
    if len(repeated) < 2:
        return replace(spread, prior_degrees=float("inf"))
    degrees = np.array([s.n - 1 for s in repeated], float)
    scatter = np.log(variances) - scipy.special.psi(degrees / 2) + np.log(degrees / 2)
    beyond = float(scatter.var(ddof=1) - np.mean(scipy.special.polygamma(1, degrees / 2)))
    least, most = PRIOR_DEGREES
    if beyond <= float(scipy.special.polygamma(1, most / 2)):
        return replace(spread, prior_degrees=float("inf"))
    if beyond >= float(scipy.special.polygamma(1, least / 2)):
        return replace(spread, prior_degrees=least)
    prior = scipy.optimize.brentq(
        lambda d: float(scipy.special.polygamma(1, d / 2)) - beyond, least, most
    )
    return replace(spread, prior_degrees=float(prior))


def _repeat_spread(samples: Mapping[Cell, Sample]) -> Spread:
    """Variance of one print pooled over the cells that were printed more than once."""
    repeated = [s for s in samples.values() if s.n > 1 and not s.at_least]
    degrees = sum(s.n - 1 for s in repeated)
    if not degrees:
        return UNKNOWN_SPREAD
    variance = sum((s.n - 1) * s.between_variance for s in repeated) / degrees
    return Spread(SpreadSource.REPEATS, float(variance), float(degrees))


def _higher_order_spread(
    factors: tuple[Factor, ...], samples: Mapping[Cell, Sample], *, order: int
) -> Spread:
    """Variance of one print by what a model without the higher interactions leaves over.

    An interaction that is truly there makes it too large, so that intervals are too wide and none
    too narrow. Common practice with experiments without repeats: Box, Hunter and Hunter,
    Statistics for Experimenters (2005), chapter 5; from memory.
    """
    cells = list(samples)
    design = _model(factors, cells, order)
    rank = int(np.linalg.matrix_rank(design))
    degrees = len(cells) - rank
    if degrees < 1:
        return UNKNOWN_SPREAD
    values = np.array([samples[c].mean for c in cells])
    fitted = design @ np.linalg.lstsq(design, values, rcond=None)[0]
    variance = float(np.sum((values - fitted) ** 2)) / degrees
    return Spread(SpreadSource.HIGHER_ORDER, variance, float(degrees))


def _model(factors: tuple[Factor, ...], cells: list[Cell], order: int) -> FloatArray:
    """Columns of ones and zeros: every level, and every combination of up to `order` levels."""
    columns = [np.ones(len(cells))]
    for size in range(1, order + 1):
        for chosen in combinations(range(len(factors)), size):
            here = [tuple(c[i] for i in chosen) for c in cells]
            columns += [np.array([h == level for h in here], float) for level in set(here)]
    return np.stack(columns, axis=1)
