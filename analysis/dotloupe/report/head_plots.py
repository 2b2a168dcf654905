"""Plot of where the head put each ink."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.report.curves import plane_offsets
from dotloupe.report.settings import settings_of
from dotloupe.report.style import INK, SOFT_INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_placement(result: Any, axis: Axes) -> Axes:
    """Draw the offset of every ink plane against black in both directions, with 95 % intervals."""
    settings = settings_of(result)
    offsets = {s.index: plane_offsets(s) for s in settings}
    slots = list(dict.fromkeys((d, p) for found in offsets.values() for p, d, _ in found))
    slots.sort()
    step = 0.7 / max(len(settings), 1)
    for setting in settings:
        found = offsets[setting.index]
        if not found:
            continue
        shift = (setting.index - (len(settings) - 1) / 2) * step
        at = np.array([slots.index((d, p)) for p, d, _ in found]) + shift
        value, low, high = np.array([(m.value, m.low, m.high) for _, _, m in found]).T
        axis.errorbar(
            at,
            value,
            yerr=(value - low, high - value),
            color=setting.look.colour,
            fmt=setting.look.mark,
            ms=5,
            elinewidth=1.2,
            label=setting.label,
        )
    axis.axhline(0, color=INK, lw=0.8)
    for edge in range(len(slots) - 1):
        axis.axvline(edge + 0.5, color=SOFT_INK, lw=0.3)
    axis.set_xticks(range(len(slots)), [f"{plane}\nalong {d}" for d, plane in slots])
    axis.grid(visible=False, axis="x")
    axis.set_ylabel("Offset against black, um")
    if axis.get_legend_handles_labels()[0]:
        # above the marks, which fill the height
        axis.legend(loc="lower left", bbox_to_anchor=(0, 1), ncols=4, borderaxespad=0.2)
    return axis
