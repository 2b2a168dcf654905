"""Plot of how sharp a photograph is over its patch."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dotloupe.report.style import GROUND, INK, SERIES, SOFT_INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.fitness.focus import FocusMap
    from dotloupe.measurement import Measurement

LARGEST_POINTS = 26.0
"""Diameter of the disc of a place that has lost half of its detail."""
FIGURE_MM = (2.6, 1.6)
"""Room that a figure takes on the patch."""


def focus_of(measurement: Measurement) -> Any:
    """Return the focus map of a measured capture, None where it has none."""
    return getattr(measurement.details.get("fitness"), "focus", None)


def plot_focus(measurement: Measurement, axis: Axes) -> Axes:
    """Draw how much softer than its sharpest place a capture is, over the patch.

    The area of a disc goes by the loss of detail, which stands above it in per cent where there
    is room.
    """
    registration = measurement.details.get("registration")
    patch = None if registration is None else registration.patch
    return draw_focus(focus_of(measurement), None if patch is None else patch.size_mm, axis)


def draw_focus(focus: FocusMap | None, size_mm: tuple[float, float] | None, axis: Axes) -> Axes:
    """Draw a focus map as `plot_focus` does, with the outline of a patch of this size."""
    if size_mm is not None:
        width, height = size_mm
        axis.set(xlim=(0, width), ylim=(height, 0))
        axis.plot([0, width, width], [0, 0, height], color=SOFT_INK, lw=0.7, clip_on=False)
    if focus is not None:
        told = _apart(focus.places_mm, focus.softer)
        for number, ((x, y), softer) in enumerate(zip(focus.places_mm, focus.softer, strict=True)):
            size = LARGEST_POINTS * (max(float(softer), 0.0) / 0.5) ** 0.5
            axis.plot(x, y, "o", ms=max(size, 1.5), mfc=SERIES[0], mec="none", alpha=0.35)
            axis.plot(x, y, "+", ms=4, color=INK, mew=0.7)
            if number not in told:
                continue
            axis.annotate(
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
    axis.set_aspect("equal")
    axis.set(xlabel="x on the patch, mm", ylabel="y, mm")
    axis.tick_params(colors=SOFT_INK)
    axis.grid(visible=False)
    return axis


def _apart(places_mm: Any, softer: Any) -> set[int]:
    """Places whose figures have room; of close ones the softest is told."""
    told: list[int] = []
    for number in sorted(range(len(softer)), key=lambda i: -float(softer[i])):
        x, y = places_mm[number]
        near = (
            abs(x - places_mm[o][0]) < FIGURE_MM[0] and abs(y - places_mm[o][1]) < FIGURE_MM[1]
            for o in told
        )
        if not any(near):
            told.append(number)
    return set(told)
