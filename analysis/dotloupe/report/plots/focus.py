"""Plot of how sharp a photograph is over its patch."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measurement import Measurement, PatchMeasurement
from dotloupe.report.plots.csv_rows import focus_rows
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import GROUND, INK, SERIES, SOFT_INK
from dotloupe.report.text import focus_caption

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes

    from dotloupe.fitness import FocusMap
    from dotloupe.report.model import Setting

LARGEST_POINTS = 26.0
"""Diameter of the disc of a place that has lost half of its detail."""
LEAST_POINTS = 1.5
WITHIN_FIGURE = (0.16, 0.16, 0.81, 0.81)
"""Of every map, so that the same room is not sought for each."""
FIGURE_MM = (2.6, 1.6)
"""Room that a figure takes on the patch."""


def _focus_of(measurement: Measurement) -> FocusMap | None:
    """Return the focus map of a measured capture, None where it has none."""
    if not isinstance(measurement, PatchMeasurement) or measurement.fitness is None:
        return None
    return measurement.fitness.focus


def focus_plots(setting: Setting) -> Iterator[Plot]:
    """How much softer than its sharpest place each photograph is, over the patch.

    The area of a disc goes by the loss of detail, which stands above it in per cent where there
    is room.
    """
    for number, m in enumerate(setting.measurements, start=1):
        focus = _focus_of(m)
        if focus is None:
            continue
        patch = None if m.registration is None else m.registration.patch
        size_mm = None if patch is None else patch.size_mm
        yield Plot(
            f"focus_{setting.index + 1}_{number}",
            "focus",
            focus_caption(setting.name, m.print_id),
            partial(_draw_places, _places(focus), size_mm),
            focus_rows(setting, m, focus),
            (4.2, 3.0),
            WITHIN_FIGURE,
        )


def draw_focus(focus: FocusMap, size_mm: tuple[float, float] | None, axis: Axes) -> Axes:
    """Draw a focus map as in a report.

    Parameters
    ----------
    focus : FocusMap
    size_mm : (float, float) or None
        Of the patch, whose outline is drawn where it is known.
    axis : Axes
    """
    return _draw_places(_places(focus), size_mm, axis)


def _places(focus: FocusMap) -> list[tuple[float, float, float]]:
    """Places in mm, and the share of detail lost there."""
    return [
        (float(x), float(y), float(softer))
        for (x, y), softer in zip(focus.places_mm, focus.softer, strict=True)
    ]


def _draw_places(
    places: Sequence[tuple[float, float, float]], size_mm: tuple[float, float] | None, axis: Axes
) -> Axes:
    if size_mm is not None:
        width, height = size_mm
        axis.set(xlim=(0, width), ylim=(height, 0))
        axis.plot([0, width, width], [0, 0, height], color=SOFT_INK, lw=0.7, clip_on=False)
    across, down, lost = np.reshape(places, (-1, 3)).T
    diameters = np.maximum(LARGEST_POINTS * (np.maximum(lost, 0.0) / 0.5) ** 0.5, LEAST_POINTS)
    axis.scatter(across, down, diameters**2, color=SERIES[0], lw=0, alpha=0.35)
    axis.plot(across, down, "+", ms=4, color=INK, mew=0.7)
    for number in sorted(_apart(places)):
        x, y, softer = places[number]
        told = axis.annotate(
            f"{100 * softer:.0f} %",
            (x, y),
            (0, 5),
            textcoords="offset points",
            ha="center",
            va="bottom",
            color=INK,
            fontsize=8,
            zorder=5,
            bbox={"boxstyle": "square,pad=0.05", "fc": GROUND, "ec": "none", "alpha": 0.85},
        )
        # all stand well within the patch
        told.set_in_layout(False)
    axis.set_aspect("equal")
    axis.set(xlabel="x on the patch, mm", ylabel="y on the patch, mm")
    axis.tick_params(colors=SOFT_INK)
    axis.grid(visible=False)
    return axis


def _apart(places: Sequence[tuple[float, float, float]]) -> set[int]:
    """Places whose figures have room; of close ones the softest is told."""
    told: list[int] = []
    for number in sorted(range(len(places)), key=lambda i: -places[i][2]):
        x, y, _ = places[number]
        near = (
            abs(x - places[o][0]) < FIGURE_MM[0] and abs(y - places[o][1]) < FIGURE_MM[1]
            for o in told
        )
        if not any(near):
            told.append(number)
    return set(told)
