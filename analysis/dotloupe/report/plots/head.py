"""Plot of where the head put each ink, and what it comes to."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare.visibility import (
    OUT_OF_LINE_ARCSEC,
    Alignment,
    alignment,
    just_visible_um,
)
from dotloupe.report.plots.curves import plane_offsets
from dotloupe.report.plots.style import INK, SOFT_INK
from dotloupe.report.settings import looked_at_from_mm, settings_of
from dotloupe.report.text import listed, named, sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from dotloupe.report.plots.curves import Mean
    from dotloupe.report.plots.style import Look

MOST_NAMED = 3


def plot_placement(result: Any, axis: Axes) -> Axes:
    """Draw the offset of every ink plane against black in both directions, with 95 % intervals.

    The band is what an eye cannot make out from the viewing distance.
    """
    return placement_drawing(result)(axis)


def placement_drawing(result: Any) -> partial[Axes]:
    """Gather what `plot_placement` draws."""
    limit = just_visible_um(looked_at_from_mm(result))
    offsets = [(s.label, s.look, plane_offsets(s)) for s in settings_of(result)]
    return partial(_draw_placement, offsets, limit)


def _draw_placement(
    settings: Sequence[tuple[str, Look, Sequence[tuple[str, str, Mean]]]], limit: float, axis: Axes
) -> Axes:
    slots = sorted({(d, p) for _, _, found in settings for p, d, _ in found})
    step = 0.7 / max(len(settings), 1)
    for index, (label, look, found) in enumerate(settings):
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
            label=label,
        )
    axis.axhline(0, color=INK, lw=0.8)
    axis.axhspan(-limit, limit, color=SOFT_INK, alpha=0.1, lw=0)
    for edge in range(len(slots) - 1):
        axis.axvline(edge + 0.5, color=SOFT_INK, lw=0.3)
    axis.set_xticks(range(len(slots)), [f"{plane}\nalong {d}" for d, plane in slots])
    axis.grid(visible=False, axis="x")
    axis.set_ylabel("Offset against black, um")
    if axis.get_legend_handles_labels()[0]:
        # above the marks, which fill the height
        axis.legend(loc="lower left", bbox_to_anchor=(0, 1), ncols=4, borderaxespad=0.2)
    return axis


def placement_reading(result: Any) -> str:
    """Say what the offsets of the inks come to, and how they are to be read."""
    distance_mm = looked_at_from_mm(result)
    found = [
        (f"{plane} along {direction} of {named(s.name)}", alignment((m.low, m.high), distance_mm))
        for s in settings_of(result)
        for plane, direction, m in plane_offsets(s)
    ]
    return (
        "A mark on the line is an ink that lands where black does. In the band, "
        f"{just_visible_um(distance_mm):.0f} um to either side, a keen eye hardly makes an offset "
        f"out from {distance_mm / 10:g} cm ({OUT_OF_LINE_ARCSEC:g} seconds of arc). {_told(found)}"
    )


def _told(found: Sequence[tuple[str, Alignment]]) -> str:
    out = [name for name, said in found if said is Alignment.MISALIGNED]
    unsettled = sum(said is Alignment.UNDECIDED for _, said in found)
    if out:
        few = listed(out[:MOST_NAMED]) if len(out) <= MOST_NAMED else f"{len(out)} of {len(found)}"
        are = "is" if len(out) == 1 else "are"
        told = f"{sentence(few)} {are} out of line by more: there a head alignment can help."
    elif not unsettled:
        return "All intervals lie within it: the places of the inks call for no alignment."
    else:
        told = "No interval lies wholly outside it."
    if unsettled:
        reach = "reaches" if unsettled == 1 else "reach"
        told += f" {unsettled} of {len(found)} {reach} across its border: not measured well enough."
    return told
