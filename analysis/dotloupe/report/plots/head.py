"""Plot of where the head put each ink."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from dotloupe.compare.visibility import just_visible_um
from dotloupe.report.plots.csv_rows import placement_rows
from dotloupe.report.plots.curves import plane_offsets
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import INK, SOFT_INK, look_of
from dotloupe.report.text import placement_caption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from dotloupe.report.model import ReportModel
    from dotloupe.report.plots.curves import Mean
    from dotloupe.report.plots.style import Look

InkOffset: TypeAlias = "tuple[str, str, Mean]"
"""Plane, direction, and the offset against black in um."""


def placement_plot(model: ReportModel) -> Plot:
    """Offset of every ink plane against black in both directions, with 95 % intervals.

    The band is what an eye cannot make out from the viewing distance.
    """
    distance_mm = model.looked_at_from_mm
    offsets = [(s, plane_offsets(s)) for s in model.settings]
    intervals = [
        (plane, direction, s.name, (mean.low, mean.high))
        for s, found in offsets
        for plane, direction, mean in found
    ]
    return Plot(
        "placement",
        "head",
        placement_caption(intervals, distance_mm),
        partial(
            _draw_placement,
            [(look_of(s), found) for s, found in offsets],
            just_visible_um(distance_mm),
        ),
        placement_rows(offsets),
    )


def _draw_placement(
    settings: Sequence[tuple[Look, Sequence[InkOffset]]], limit_um: float, axis: Axes
) -> Axes:
    slots = sorted({(d, p) for _, found in settings for p, d, _ in found})
    step = 0.7 / max(len(settings), 1)
    for index, (look, found) in enumerate(settings):
        if not found:
            continue
        shift = (index - (len(settings) - 1) / 2) * step
        at = np.array([slots.index((d, p)) for p, d, _ in found]) + shift
        value, low, high = np.array([(m.value, m.low, m.high) for _, _, m in found]).T
        axis.errorbar(
            at,
            value,
            yerr=(value - low, high - value),
            color=look.colour,
            fmt=look.mark,
            ms=5,
            elinewidth=1.2,
            label=look.label,
        )
    axis.axhline(0, color=INK, lw=0.8)
    axis.axhspan(-limit_um, limit_um, color=SOFT_INK, alpha=0.1, lw=0)
    for edge in range(len(slots) - 1):
        axis.axvline(edge + 0.5, color=SOFT_INK, lw=0.3)
    axis.set_xticks(range(len(slots)), [f"{plane}\nalong {d}" for d, plane in slots])
    axis.grid(visible=False, axis="x")
    axis.set_ylabel("Offset against black, um")
    if axis.get_legend_handles_labels()[0]:
        # above the marks, which fill the height
        axis.legend(loc="lower left", bbox_to_anchor=(0, 1), ncols=4, borderaxespad=0.2)
    return axis
