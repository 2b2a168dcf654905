"""What several plots draw alike: curves with bands, intervals side by side, notes, the legend."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias, TypeVar

import numpy as np

from dotloupe.report.plots.style import GROUND, INK, SOFT_INK

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes

    from dotloupe.report.plots.curves import Curve
    from dotloupe.report.plots.style import Look

Coordinates: TypeAlias = Literal["data", "axes fraction"]
ABOVE_DATA: tuple[Coordinates, Coordinates] = ("data", "axes fraction")
BESIDE_DATA: tuple[Coordinates, Coordinates] = ("axes fraction", "data")
WITHIN: tuple[Coordinates, Coordinates] = ("axes fraction", "axes fraction")
DOTTED = (0, (1, 1.6))
Thing = TypeVar("Thing")
ROW_LETTERS, BESIDE_NAME = 72, 7
"""Letters that stand in one row of a plot, and what a mark and its gaps take of them."""


def draw_curve(axis: Axes, look: Look, curve: Curve) -> None:
    """Draw a curve with its 95 % band in the look of its setting."""
    axis.fill_between(curve.x, curve.low, curve.high, color=look.colour, alpha=0.16, linewidth=0)
    axis.plot(curve.x, curve.value, color=look.colour, ls=look.pattern, label=look.label)


def draw_intervals(
    axis: Axes,
    settings: Sequence[tuple[Look, Mapping[Thing, tuple[float, float, float]]]],
    names: Mapping[Thing, str],
) -> None:
    """Draw values with their intervals, those of one thing side by side.

    Parameters
    ----------
    axis : Axes
    settings : sequence of (Look, mapping)
        Value, low and high of each thing that the setting has.
    names : mapping
        The things, from left to right, and their names.
    """
    places = {thing: place for place, thing in enumerate(names)}
    step = 0.7 / max(len(settings), 1)
    for index, (look, found) in enumerate(settings):
        if not found:
            continue
        shift = (index - (len(settings) - 1) / 2) * step
        value, low, high = np.array(list(found.values())).T
        axis.errorbar(
            np.array([places[thing] for thing in found]) + shift,
            value,
            yerr=(np.clip(value - low, 0, None), np.clip(high - value, 0, None)),
            color=look.colour,
            fmt=look.mark,
            ms=5,
            elinewidth=1.2,
            label=look.label,
        )
    for edge in range(len(names) - 1):
        axis.axvline(edge + 0.5, color=SOFT_INK, lw=0.3)
    axis.set_xticks(range(len(names)), list(names.values()))
    axis.grid(visible=False, axis="x")


def note(
    axis: Axes,
    text: str,
    at: tuple[object, float],
    shift_points: tuple[float, float],
    *,
    coordinates: tuple[Coordinates, Coordinates] = ABOVE_DATA,
    ha: Literal["left", "center", "right"] = "left",
    va: Literal["top", "baseline"] = "baseline",
    upright: bool = False,
    in_layout: bool = True,
) -> None:
    """Write a short note on a plot, moved by some points from its place.

    Parameters
    ----------
    axis : Axes
    text : str
    at : (x, y)
        In `coordinates`.
    shift_points : (float, float)
    coordinates : pair of {"data", "axes fraction"}
    ha, va : str
        Which part of the text lies there.
    upright : bool
        Whether it is written upwards.
    in_layout : bool
        Whether the plot makes room for it where it stands out.
    """
    written = axis.annotate(
        text,
        at,
        shift_points,
        xycoords=coordinates,
        textcoords="offset points",
        rotation=90 if upright else 0,
        ha=ha,
        va=va,
        color=SOFT_INK,
        fontsize=8,
        # lines that pass beneath do not cross its letters
        bbox={"boxstyle": "square,pad=0.05", "fc": GROUND, "ec": "none", "alpha": 0.85},
    )
    written.set_in_layout(in_layout)


def named_upright(axis: Axes, x: float, words: str) -> None:
    """Draw a dotted upright line with its name along it."""
    axis.axvline(x, color=INK, lw=0.8, ls=DOTTED)
    note(axis, words, (x, 1), (3, -3), va="top", upright=True)


def legend(axis: Axes, place: Literal["best", "upper right"] = "best") -> None:
    """Add a legend where it hides least, or at a named place; none where nothing is drawn."""
    if axis.get_legend_handles_labels()[0]:
        axis.legend(loc=place, handlelength=3)


def legend_above(axis: Axes) -> None:
    """Add a legend above the axis, in as many columns as its longest name lets stand side by side.

    For plots whose marks fill the height; none where nothing is drawn.
    """
    names = axis.get_legend_handles_labels()[1]
    if names:
        columns = max(1, ROW_LETTERS // (max(map(len, names)) + BESIDE_NAME))
        axis.legend(
            loc="lower left", bbox_to_anchor=(0, 1), ncols=min(4, columns), borderaxespad=0.2
        )
