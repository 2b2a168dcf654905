"""What a reader of effects must know of the design behind them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.cautions import (
    LowerBounds,
    MissingCombinations,
    NoSpread,
    SinglePrints,
    SpreadByHistory,
    SpreadByInteractions,
    TwoPrints,
    UnequalPrints,
    UnequalSpreads,
)
from dotloupe.compare.effects.design import missing_cells
from dotloupe.compare.effects.estimates import SpreadSource

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.cautions import Caution
    from dotloupe.compare.effects.design import Cell, Factor
    from dotloupe.compare.effects.estimates import Spread
    from dotloupe.compare.prints import Sample

SPREADS_DIFFER = 0.05
"""Probability by Bartlett's test under which spreads are said to differ."""


def _cell_name(cell: Cell) -> str:
    """Name of a combination of levels."""
    return ", ".join(f"{level:g}" if isinstance(level, (int, float)) else level for level in cell)


def design_cautions(
    factors: tuple[Factor, ...],
    samples: Mapping[Cell, Sample],
    spread: Spread,
    interaction_spread: Spread,
) -> tuple[Caution, ...]:
    """List what limits the effects on one criterion."""
    found: list[Caution] = []
    if missing := missing_cells(factors, samples):
        found.append(MissingCombinations(tuple(map(_cell_name, missing))))
    if bounds := tuple(_cell_name(c) for c, s in samples.items() if s.at_least):
        found.append(LowerBounds(bounds))
    if spread.source is SpreadSource.HIGHER_ORDER:
        known = interaction_spread.source is SpreadSource.HIGHER_ORDER
        found.append(SpreadByInteractions(int(spread.degrees), known))
    elif spread.source is SpreadSource.HISTORY:
        found.append(SpreadByHistory(spread.degrees))
    elif spread.source is SpreadSource.UNKNOWN:
        found.append(NoSpread())
    else:
        found += _of_repeats(samples)
    return tuple(found)


def _of_repeats(samples: Mapping[Cell, Sample]) -> list[Caution]:
    counts = [s.n for s in samples.values()]
    found: list[Caution] = []
    single = tuple(_cell_name(c) for c, s in samples.items() if s.n == 1)
    if single:
        found.append(SinglePrints(single))
    elif len(set(counts)) > 1:
        found.append(UnequalPrints(min(counts), max(counts)))
    if 2 in counts:
        found.append(TwoPrints())
    spreads = {c: s.between_variance for c, s in samples.items() if s.n > 1 and not s.at_least}
    if _spreads_differ([samples[c] for c in spreads]):
        most, least = (pick(spreads, key=lambda c: spreads[c]) for pick in (max, min))
        ratio = float(np.sqrt(spreads[most] / spreads[least]))
        found.append(UnequalSpreads(_cell_name(most), _cell_name(least), ratio))
    return found


def _spreads_differ(samples: list[Sample]) -> bool:
    """Whether Bartlett's test (1937) speaks against one spread of all."""
    variances = np.array([s.between_variance for s in samples])
    degrees = np.array([s.n - 1 for s in samples], float)
    if len(samples) < 2 or not np.all(variances > 0):
        return False
    total = degrees.sum()
    pooled = float(degrees @ variances) / total
    statistic = total * np.log(pooled) - float(degrees @ np.log(variances))
    correction = 1 + (np.sum(1 / degrees) - 1 / total) / (3 * (len(samples) - 1))
    return float(scipy.special.chdtrc(len(samples) - 1, statistic / correction)) < SPREADS_DIFFER
