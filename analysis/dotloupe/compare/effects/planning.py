"""Before printing: how many prints a design takes, and which combinations it lacks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.effects.design import (
    effect_contrasts,
    factors_of,
    interaction_contrasts,
    missing_cells,
)
from dotloupe.compare.pairs import FAMILY_ERROR, detectable_ratio
from dotloupe.number import CRITERIA

if TYPE_CHECKING:
    from dotloupe.compare.effects.design import Cell, Factor, Level

SHARES = (0.05, 0.10)
"""Effects that a test is planned to find, as shares of the value."""

USUAL_REPEATS: Mapping[str, float] = {
    "detail_x": 0.02,
    "detail_y": 0.02,
    "line_pairs_x": 0.03,
    "line_pairs_y": 0.03,
    "grain": 0.04,
}
"""Standard deviation of prints of one setting, as a share of the value: assumed, no source.

A history of the printer says better.
"""

MOST_PRINTS = 50


@dataclass(frozen=True)
class PrintsNeeded:
    """Prints of each combination that find an effect in 80 of 100 tests.

    Attributes
    ----------
    criterion : str
    share : float
        The effect, as a share of the value.
    for_effects, for_interactions : int or None
        None where more than 50 would be needed, or none is asked.
    """

    criterion: str
    share: float
    for_effects: int | None
    for_interactions: int | None


@dataclass(frozen=True)
class DesignPlan:
    """What a design can find before anything is printed.

    Attributes
    ----------
    factors : tuple of Factor
    cells : tuple of cell
        Combinations that the plan holds.
    missing : tuple of cell
        Combinations that it lacks.
    interactions : int
        Number of differences of differences that it can ask for.
    needed : tuple of PrintsNeeded
    repeats : mapping of str to float
        Standard deviation of prints of one setting that it assumes, as a share of the value.
    by_history : bool
        Whether they come from a history of the printer, and are not the usual ones.
    """

    factors: tuple[Factor, ...]
    cells: tuple[Cell, ...]
    missing: tuple[Cell, ...]
    interactions: int
    needed: tuple[PrintsNeeded, ...]
    repeats: Mapping[str, float]
    by_history: bool


def plan_design(
    levels: Mapping[str, Mapping[str, Level]], *, repeats: Mapping[str, float] | None = None
) -> DesignPlan:
    """How many prints of each combination a design takes to find effects of 5 and 10 %.

    Parameters
    ----------
    levels : mapping of str to mapping of str to str or float
        Setting to its level of every factor.
    repeats : mapping of str to float, optional
        Standard deviation of prints of one setting by criterion, as a share of the value, from a
        history; usual ones by default.

    Returns
    -------
    DesignPlan

    Raises
    ------
    InputError
        No factor varies.
    """
    by_history = repeats is not None
    repeats = USUAL_REPEATS if repeats is None else repeats
    factors = factors_of(list(levels.values()))
    cells = tuple(dict.fromkeys(tuple(each[f.name] for f in factors) for each in levels.values()))
    effects = [c.weights for c in effect_contrasts(factors, cells)]
    interactions = [c.weights for c in interaction_contrasts(factors, cells)]
    needed = tuple(
        PrintsNeeded(
            name,
            share,
            prints_needed(effects, len(cells), share / repeats[name]),
            prints_needed(interactions, len(cells), share / repeats[name]),
        )
        for name in CRITERIA
        if name in repeats
        for share in SHARES
    )
    missing = missing_cells(factors, cells)
    return DesignPlan(factors, cells, missing, len(interactions), needed, dict(repeats), by_history)


def prints_needed(family: list[Mapping[Cell, float]], cells: int, difference: float) -> int | None:
    """Least number of prints a cell that finds every contrast of a family with 80 % chance.

    Parameters
    ----------
    family : list of mapping of cell to float
        Weights of the cell means.
    cells : int
        Number of cells, whose spreads are taken to be alike.
    difference : float
        True contrast over the standard deviation of one print.

    Returns
    -------
    int or None
        None for an empty family, and where more than 50 would be needed.
    """
    if not family:
        return None
    error = 1 - (1 - FAMILY_ERROR) ** (1 / len(family))
    size = max(float(np.sqrt(sum(w**2 for w in weights.values()))) for weights in family)
    for n in range(2, MOST_PRINTS + 1):
        degrees = float(cells * (n - 1))
        critical = float(scipy.special.stdtrit(degrees, 1 - error / 2))
        if size / np.sqrt(n) * detectable_ratio(critical, degrees) <= difference:
            return n
    return None
