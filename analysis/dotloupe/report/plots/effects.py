"""Plots of crossed factors: lines that cross or do not, and the differences between them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.report.plots.csv_rows import cell_rows, effect_rows
from dotloupe.report.plots.plot import COLUMN_IN, Plot
from dotloupe.report.plots.style import INK, MARKS, PATTERNS, SERIES, SOFT_INK
from dotloupe.report.text import (
    BETTER,
    camera_text,
    contrast_names,
    differences_caption,
    effects_sentences,
    level_text,
    lines_caption,
    short,
    told_contrasts,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from dotloupe.compare.effects import CriterionEffects, Factor
    from dotloupe.report.model import EffectsModel

PANEL_IN = 2.6
ROW_IN = 0.32


@dataclass(frozen=True)
class Line:
    """Means of one level of the factor that lines stand for, and the prints behind them."""

    label: str
    index: int
    means: tuple[float, ...]
    prints: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Panel:
    """The lines at one combination of the remaining factors."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class DifferenceRow:
    """One difference with its interval; an end that is not known is NaN."""

    label: str
    ends: tuple[float, float, float]
    distinguishable: bool
    interaction: bool


def lines_plot(model: EffectsModel, criterion: str) -> Plot:
    """Means over the levels of one factor, a line for each level of another, small multiples."""
    factors = model.effects.factors
    found = model.effects.criteria[criterion]
    along = _along(factors)
    panels = _panels(found, factors, along)
    unit = "" if found.unit in found.title else f"{found.unit}, "
    camera = camera_text(model.camera(criterion))
    label = f"{found.title}\n{unit}{BETTER[found.better]}{camera and f'; {camera}'}"
    ticks = tuple(level_text(x, along.name) for x in along.levels)
    return Plot(
        f"combinations_{criterion}",
        "effects",
        lines_caption(found, effects_sentences(model.effects, found)),
        partial(_draw_lines, panels, ticks, short(along.name), label),
        cell_rows(found, factors),
        (max(COLUMN_IN, 1.2 + PANEL_IN * len(panels)), 3.6),
    )


def differences_plot(model: EffectsModel, criterion: str) -> Plot:
    """Every effect and every difference of differences with its 95 % interval."""
    found = model.effects.criteria[criterion]
    rows = tuple(_difference_rows(model, found))
    return Plot(
        f"differences_{criterion}",
        "effects",
        differences_caption(found),
        partial(_draw_differences, rows, found.unit),
        effect_rows(found),
        (COLUMN_IN, 0.9 + ROW_IN * len(rows)),
    )


def _along(factors: Sequence[Factor]) -> Factor:
    """Choose the factor along the plot: numbers if any, else the last of the fewest levels."""
    numbers = [f for f in factors if f.is_number]
    return numbers[0] if numbers else min(reversed(factors), key=lambda f: len(f.levels))


def _panels(found: CriterionEffects, factors: Sequence[Factor], along: Factor) -> tuple[Panel, ...]:
    others = [f for f in factors if f is not along]
    lined, rest = (others[0], others[1:]) if others else (None, [])
    panels = []
    for held in product(*(f.levels for f in rest)):
        at = dict(zip((f.name for f in rest), held, strict=True))
        title = ", ".join(level_text(x, name) for name, x in at.items())
        lines = []
        for index, level in enumerate(lined.levels if lined else ("",)):
            levels = at | ({lined.name: level} if lined else {})
            means, prints = [], []
            for x in along.levels:
                cell = tuple((levels | {along.name: x})[f.name] for f in factors)
                sample = found.samples.get(cell)
                means.append(float("nan") if sample is None else sample.mean)
                prints.append(() if sample is None else tuple(sample.values.tolist()))
            label = level_text(level, lined.name) if lined else ""
            lines.append(Line(label, index, tuple(means), tuple(prints)))
        panels.append(Panel(title, tuple(lines)))
    return tuple(panels)


def _draw_lines(
    panels: Sequence[Panel], ticks: Sequence[str], along: str, label: str, axis: Axes
) -> Axes:
    figure = axis.figure
    axis.remove()
    axes = figure.subplots(1, len(panels), sharey=True, squeeze=False)[0]
    places = np.arange(len(ticks))
    for panel, here in zip(panels, axes, strict=True):
        middle = (len(panel.lines) - 1) / 2
        for line in panel.lines:
            colour = SERIES[line.index % len(SERIES)]
            shift = 0.05 * (line.index - middle)
            here.plot(
                places + shift,
                line.means,
                MARKS[line.index % len(MARKS)],
                color=colour,
                ls=PATTERNS[line.index % len(PATTERNS)],
                ms=7,
                mec="none",
                label=line.label,
            )
            for place, values in zip(places, line.prints, strict=True):
                x = np.full(len(values), place + shift)
                here.plot(x, values, "_", color=colour, ms=9, alpha=0.6)
        here.set_xticks(places, ticks)
        here.set_xlim(-0.4, len(ticks) - 0.6)
        here.set_xlabel(along)
        here.set_title(panel.title)
    axes[0].set_ylabel(label)
    if panels[0].lines[0].label:
        axes[0].legend(loc="best")
    return axes[0]


def _difference_rows(model: EffectsModel, found: CriterionEffects) -> list[DifferenceRow]:
    names = contrast_names(model.effects, found)
    effects, interactions = told_contrasts(model.effects, found)
    every = [(e.estimate, False) for e in effects]
    every += [(i.estimate, True) for i in interactions]
    unknown = float("nan")
    return [
        DifferenceRow(
            name,
            (
                estimate.difference,
                unknown if estimate.low is None else estimate.low,
                unknown if estimate.high is None else estimate.high,
            ),
            estimate.distinguishable,
            interaction,
        )
        for name, (estimate, interaction) in zip(names, every, strict=True)
    ]


def _draw_differences(rows: Sequence[DifferenceRow], unit: str, axis: Axes) -> Axes:
    axis.axvline(0, color=SOFT_INK, lw=0.8)
    for place, row in enumerate(rows):
        value, low, high = row.ends
        colour = SERIES[1] if row.interaction else SERIES[0]
        axis.plot([low, high], [place, place], color=colour, lw=2.2, solid_capstyle="butt")
        fill = colour if row.distinguishable else "white"
        mark = "D" if row.interaction else "o"
        axis.plot(value, place, mark, color=colour, mfc=fill, ms=6)
    axis.set_yticks(range(len(rows)), [row.label for row in rows])
    axis.tick_params(axis="y", labelcolor=INK)
    axis.set_ylim(len(rows) - 0.5, -0.5)
    axis.grid(visible=False, axis="y")
    axis.set_xlabel(f"Difference, {unit}")
    return axis
