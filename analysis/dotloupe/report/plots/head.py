"""Plot of where the head put each ink."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from dotloupe.compare.visibility import just_visible_um
from dotloupe.report.plots.csv_rows import placement_rows
from dotloupe.report.plots.curves import plane_offsets
from dotloupe.report.plots.drawn import draw_intervals, legend_above
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
    axis.axhline(0, color=INK, lw=0.8)
    axis.axhspan(-limit_um, limit_um, color=SOFT_INK, alpha=0.1, lw=0)
    found = [
        (look, {(d, p): (m.value, m.low, m.high) for p, d, m in offsets})
        for look, offsets in settings
    ]
    draw_intervals(axis, found, {(d, plane): f"{plane}\nalong {d}" for d, plane in slots})
    axis.set_ylabel("Offset against black, um")
    legend_above(axis)
    return axis
