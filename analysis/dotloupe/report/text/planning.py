"""What a planned test can find, and the order to print it in, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.effects import level_text
from dotloupe.report.text.phrases import counted, listed, phrase

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.compare.effects import DesignPlan

MOST_NAMED = 6


def planning_lines(
    plan: DesignPlan, prints: Mapping[str, int], blocks: Sequence[Sequence[int]]
) -> tuple[str, ...]:
    """Say how many prints a plan takes, what it lacks, and in which order to print.

    Parameters
    ----------
    plan : DesignPlan
    prints : mapping of str to int
        Setting to its number of runs.
    blocks : sequence of sequence of int
        Run numbers in the order of printing.
    """
    counts = sorted(set(prints.values()))
    now = str(counts[0]) if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    return (
        f"This plan: {counted(len(plan.cells), 'combination')}, {now} of each printed.",
        *_missing(plan),
        *_needed(plan),
        f"{_source(plan)}: prints of one setting vary in "
        + listed(f"{phrase(name)} by {100 * sd:.2g} %" for name, sd in _by_quantity(plan).items())
        + ".",
        "Print in this order, so that drift over the day affects all settings alike: "
        + "; ".join("run " + ", ".join(map(str, block)) for block in blocks)
        + ".",
    )


def _source(plan: DesignPlan) -> str:
    return "By the printer's history" if plan.by_history else "Assumed, without a history"


def _missing(plan: DesignPlan) -> list[str]:
    if not plan.missing:
        return []
    names = [
        " with ".join(level_text(x, f.name) for x, f in zip(cell, plan.factors, strict=True))
        for cell in plan.missing[:MOST_NAMED]
    ]
    more = len(plan.missing) - len(names)
    rest = f" and {more} more" if more else ""
    shared = "Each effect will use only the combinations that both its levels share."
    return [f"Missing: {'; '.join(names)}{rest}. {shared}"]


def _needed(plan: DesignPlan) -> list[str]:
    """Say for each size of effect how many prints each criterion takes."""
    said = []
    for share in dict.fromkeys(n.share for n in plan.needed):
        parts = []
        for need in plan.needed:
            if need.share != share or need.criterion not in _by_quantity(plan):
                continue
            inner = ""
            if plan.interactions:
                inner = f" ({_count(need.for_interactions)} to show that it depends)"
            parts.append(f"{phrase(need.criterion)} {_count(need.for_effects)}{inner}")
        difference = f"a difference of {100 * share:g} %"
        said.append(f"Prints of each combination needed to find {difference}: {listed(parts)}.")
    if len(plan.factors) > 1 and not plan.interactions:
        said.append("Too few combinations to tell whether one choice depends on another.")
    return said


def _count(prints: int | None) -> str:
    return "over 50" if prints is None else str(prints)


def _by_quantity(plan: DesignPlan) -> dict[str, float]:
    """Return the repeats, those of y left out where x says the same."""
    return {
        name: sd
        for name, sd in plan.repeats.items()
        if not (name.endswith("_y") and plan.repeats.get(f"{name[:-1]}x") == sd)
    }
