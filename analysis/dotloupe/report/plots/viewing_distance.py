"""Plot of the distances up to which settings can be told apart by eye."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.visibility import FARTHEST_MM
from dotloupe.report.plots.csv_rows import eyesight_rows
from dotloupe.report.plots.drawn import note
from dotloupe.report.plots.plot import COLUMN_IN, Plot
from dotloupe.report.plots.style import INK, SERIES
from dotloupe.report.text import LAID_ON_EACH_OTHER, eyesight_caption, far, phrase, sentence, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.arrays import Interval
    from dotloupe.report.model import RankingModel

NEAREST_MM = 100.0
TICKS_MM = (100.0, 300.0, 1000.0, 4000.0, 20_000.0)


def eyesight_plot(model: RankingModel) -> Plot | None:
    """Up to which distance the leading setting can be distinguished from each other one.

    A bar reaches from the nearest distance to the one at which the difference measured is lost, in
    full colour as far as the lower end of its 95 % interval; a thin line goes to the upper end. An
    arrow at the left marks a lower end of not being visible at all. Each criterion has a bar of its
    own, and what differs in the same place of every print has one. None without a difference.
    """
    ranking = model.ranking
    reaches: list[tuple[str, float, Interval]] = []
    for pair in ranking.visibility:
        parts = [
            (phrase(by.criterion), by.distance_mm, by.interval)
            for by in sorted(pair.by, key=lambda b: b.criterion)
        ]
        if pair.picture is not None and pair.picture.repeats_known:
            parts.append((LAID_ON_EACH_OTHER, pair.picture.distance_mm, pair.picture.interval))
        reaches += [
            (f"{sentence(what)},\n{short(pair.other, 20)}", distance, interval)
            for what, distance, interval in parts
        ]
    if not reaches:
        return None
    return Plot(
        "eyesight",
        "eyesight",
        eyesight_caption(ranking.visibility[0].setting),
        partial(_draw_eyesight, reaches, ranking.viewing_distance_mm),
        eyesight_rows(ranking.visibility),
        (COLUMN_IN, 0.8 + 0.36 * len(reaches)),
    )


def _draw_eyesight(
    reaches: Sequence[tuple[str, float, Interval]], distance_mm: float, axis: Axes
) -> Axes:
    for row, (_, distance, interval) in enumerate(reaches):
        _draw_reach(axis, row, distance, interval)
    axis.axvline(distance_mm, color=INK, lw=0.8, ls=(0, (1, 1.6)))
    note(axis, f"viewed from {far(distance_mm)}", (distance_mm, 1), (3, 2))
    axis.set(
        xscale="log",
        xlim=(NEAREST_MM, FARTHEST_MM),
        xlabel="Distance of the eye from the print",
        ylim=(len(reaches) - 0.4, -0.6),
    )
    axis.set_xticks(TICKS_MM, [far(t).removesuffix(" and more") for t in TICKS_MM])
    axis.set_xticks([], minor=True)
    axis.set_yticks(np.arange(len(reaches)), [label for label, _, _ in reaches])
    axis.grid(visible=False, axis="y")
    return axis


def _draw_reach(axis: Axes, row: int, distance_mm: float, interval: Interval) -> None:
    """Draw how far one difference is seen."""
    low, at, high = (
        min(max(d, NEAREST_MM), FARTHEST_MM) for d in (interval[0], distance_mm, interval[1])
    )
    axis.plot([NEAREST_MM, high], [row, row], color=SERIES[0], lw=1.2)
    for end, strength in ((at, 0.35), (low, 1.0)):
        axis.plot(
            [NEAREST_MM, end],
            [row, row],
            color=SERIES[0],
            lw=5,
            alpha=strength,
            solid_capstyle="butt",
        )
    if distance_mm > 0:
        axis.plot([at], [row], "|", color=INK, ms=9)
    if interval[0] == 0:
        axis.plot([NEAREST_MM], [row], "<", color=INK, ms=5, clip_on=False, zorder=5)
