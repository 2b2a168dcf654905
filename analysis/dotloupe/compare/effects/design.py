"""Crossed factors and the contrasts between their cells: effects, and differences of effects."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations, product
from typing import TypeAlias

from dotloupe.errors import InputError

Level: TypeAlias = str | float
"""A word, or a number such as the sent ppi."""

Cell: TypeAlias = tuple[Level, ...]
"""One level of every factor, in the order of the factors."""


@dataclass(frozen=True)
class Factor:
    """A choice that was varied.

    Attributes
    ----------
    name : str
    levels : tuple of str or float
        Numbers rising, words in the order given.
    """

    name: str
    levels: tuple[Level, ...]

    @property
    def is_number(self) -> bool:
        """Whether its levels are numbers, so that they lie along a curve."""
        return not any(isinstance(level, str) for level in self.levels)


@dataclass(frozen=True)
class EffectContrast:
    """From one level of a factor to another, averaged over the cells that both share.

    Attributes
    ----------
    factor : str
    start, end : str or float
        The difference is `end` minus `start`.
    within : mapping of str to str or float
        Levels that other factors are held at; empty for the effect averaged over them.
    weights : mapping of cell to float
        Weight of each cell's mean.
    unpaired : tuple of cell
        Cells of either level without a partner at the other, which are left out.
    """

    factor: str
    start: Level
    end: Level
    within: Mapping[str, Level]
    weights: Mapping[Cell, float]
    unpaired: tuple[Cell, ...] = ()


@dataclass(frozen=True)
class InteractionContrast:
    """Difference of differences of two factors, averaged over the others.

    Attributes
    ----------
    factors : (str, str)
    start, end : (str or float, str or float)
        The effect of the first factor from start to end, at the end of the second factor minus at
        its start.
    weights : mapping of cell to float
        Weight of each cell's mean.
    unpaired : tuple of cell
        Cells of these levels left out because one of their four is missing.
    """

    factors: tuple[str, str]
    start: tuple[Level, Level]
    end: tuple[Level, Level]
    weights: Mapping[Cell, float] = field(default_factory=dict)
    unpaired: tuple[Cell, ...] = ()


def factors_of(levels: Collection[Mapping[str, Level]]) -> tuple[Factor, ...]:
    """Factors that vary over settings, in the order in which the first setting names them.

    Parameters
    ----------
    levels : collection of mapping of str to str or float
        Level of every factor, a mapping for each setting.

    Raises
    ------
    InputError
        Settings name different factors, or none differs.
    """
    names = list(dict.fromkeys(name for each in levels for name in each))
    for name in names:
        if any(name not in each for each in levels):
            raise InputError(f"factor {name}: not every setting names it; give it to each")
    found = []
    for name in names:
        distinct = list(dict.fromkeys(each[name] for each in levels))
        if not any(isinstance(level, str) for level in distinct):
            distinct.sort(key=float)
        if len(distinct) > 1:
            found.append(Factor(name, tuple(distinct)))
    if not found:
        raise InputError("no factor differs between the settings; vary one, as mode or paper")
    return tuple(found)


def effect_contrasts(
    factors: tuple[Factor, ...], cells: Collection[Cell]
) -> Iterator[EffectContrast]:
    """Effect of every factor between each pair of its levels, averaged over the other factors."""
    for number, factor in enumerate(factors):
        for start, end in combinations(factor.levels, 2):
            here = [c for c in cells if c[number] in (start, end)]
            moved = ((c, _moved(c, number, end)) for c in here if c[number] == start)
            pairs = [(c, to) for c, to in moved if to in cells]
            if pairs:
                used = {c for pair in pairs for c in pair}
                unpaired = tuple(c for c in here if c not in used)
                yield EffectContrast(factor.name, start, end, {}, _mean(pairs), unpaired)


def simple_contrasts(
    factors: tuple[Factor, ...], cells: Collection[Cell]
) -> Iterator[EffectContrast]:
    """Effect of every factor within each level of every other, averaged over the rest."""
    for other_number, other in enumerate(factors):
        for level in other.levels:
            held = [c for c in cells if c[other_number] == level]
            for contrast in effect_contrasts(factors, held):
                if contrast.factor != other.name:
                    yield replace(contrast, within={other.name: level})


def interaction_contrasts(
    factors: tuple[Factor, ...], cells: Collection[Cell]
) -> Iterator[InteractionContrast]:
    """Difference of differences of every two factors, for each pair of levels of both."""
    for (i, first), (j, second) in combinations(enumerate(factors), 2):
        for (a, b), (c, d) in product(
            combinations(first.levels, 2), combinations(second.levels, 2)
        ):
            here = [x for x in cells if x[i] in (a, b) and x[j] in (c, d)]
            squares = [
                (x, _moved(x, i, b), _moved(x, j, d), _moved(_moved(x, i, b), j, d))
                for x in here
                if x[i] == a and x[j] == c
            ]
            squares = [s for s in squares if all(x in cells for x in s)]
            if squares:
                share = 1 / len(squares)
                weights = {
                    x: sign * share
                    for square in squares
                    for x, sign in zip(square, (1, -1, -1, 1), strict=True)
                }
                yield InteractionContrast(
                    (first.name, second.name),
                    (a, c),
                    (b, d),
                    weights,
                    tuple(x for x in here if x not in weights),
                )


def missing_cells(factors: tuple[Factor, ...], cells: Collection[Cell]) -> tuple[Cell, ...]:
    """Combinations of levels that are not among the cells."""
    return tuple(c for c in product(*(f.levels for f in factors)) if c not in cells)


def _moved(cell: Cell, number: int, level: Level) -> Cell:
    return (*cell[:number], level, *cell[number + 1 :])


def _mean(pairs: list[tuple[Cell, Cell]]) -> dict[Cell, float]:
    """Weights of the mean of differences, the second of each pair minus the first."""
    share = 1 / len(pairs)
    return {c: s for start, end in pairs for c, s in ((start, -share), (end, share))}
