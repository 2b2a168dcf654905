"""What each choice costs: time, ink and paper of a print."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from dotloupe.compare.effects.design import effect_contrasts

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from dotloupe.compare.effects.design import Cell, Factor, Level


class CostKind(StrEnum):
    """What a print costs, each by its key in a plan."""

    SECONDS = "print_seconds"
    INK = "ink_cost"
    PAPER = "paper_cost"


@dataclass(frozen=True)
class CostDifference:
    """Mean cost of a print at two levels of a factor, over the cells that both share.

    Attributes
    ----------
    factor : str
    start, end : str or float
        The levels.
    kind : CostKind
    at_start, at_end : float
        Seconds, or money in the reader's own currency.
    """

    factor: str
    start: Level
    end: Level
    kind: CostKind
    at_start: float
    at_end: float

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "factor": self.factor,
            "from": self.start,
            "to": self.end,
            "kind": self.kind.value,
            "at_from": self.at_start,
            "at_to": self.at_end,
        }


def cost_differences(
    factors: tuple[Factor, ...], costs: Mapping[Cell, Mapping[CostKind, float]]
) -> Iterator[CostDifference]:
    """Compare what prints cost at every two levels of a factor, where all cells note it.

    Parameters
    ----------
    factors : tuple of Factor
    costs : mapping of cell to mapping of CostKind to float
    """
    for kind in CostKind:
        noted = {cell: c[kind] for cell, c in costs.items() if kind in c}
        if len(noted) < len(costs):
            continue
        for contrast in effect_contrasts(factors, tuple(noted)):
            ends = (
                sum(abs(w) * noted[c] for c, w in contrast.weights.items() if w * sign > 0)
                for sign in (-1, 1)
            )
            start, end = ends
            if start != end:
                yield CostDifference(
                    contrast.factor, contrast.start, contrast.end, kind, start, end
                )
