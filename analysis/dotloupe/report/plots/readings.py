"""Plot of the three readings of detail side by side, and what it means where they part."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.measure import READINGS, Parting, Reading, ReadingName, parting
from dotloupe.measurement import camera_said
from dotloupe.report.plots.curves import Curve, mean_reading
from dotloupe.report.plots.style import INK, SOFT_INK
from dotloupe.report.settings import settings_of
from dotloupe.report.text import listed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from dotloupe.report.settings import Setting

LABELS: dict[ReadingName, str] = {
    "edges": "slanted edges",
    "bars": "bars, through Coltman's series",
    "texture": "texture against the file",
}
AGREE = "They agree wherever they can be compared: nothing favours edges, bars or texture."
MEANINGS: dict[tuple[ReadingName, str], str] = {
    ("edges", "most"): "edges keep most, a sign of sharpening in the driver or the camera",
    ("bars", "most"): (
        "bars keep most, as when a halftone's threshold deepens dark bars on paper, or where "
        "false resolution passes for contrast"
    ),
    ("texture", "least"): (
        "texture keeps least, as when grain or smoothing that spares outlines eats fine irregular "
        "detail"
    ),
}
OF_TONE = "each reads other tones, and a print's detail depends on the tone"


def readings_of(setting: Setting, direction: str) -> dict[ReadingName, Curve]:
    """Mean curve of every reading that a setting's prints have in one direction."""
    found = {name: mean_reading(setting, name, direction) for name in READINGS}
    return {name: curve for name, curve in found.items() if curve is not None}


def plot_readings(result: Any, axis: Axes, *, setting: int = 0, direction: str = "x") -> Axes:
    """Draw detail by edges, bars and texture of one setting, with 95 % bands.

    Parameters
    ----------
    result : Ranking or Ladder
    axis : matplotlib axis
    setting : int
        Place of the setting in the result, from 0.
    direction : {"x", "y"}

    Returns
    -------
    matplotlib axis
    """
    chosen = settings_of(result)[setting]
    return readings_drawing(chosen, readings_of(chosen, direction))(axis)


def readings_drawing(setting: Setting, curves: Mapping[ReadingName, Curve]) -> partial[Axes]:
    """Gather what `plot_readings` draws."""
    camera = camera_said(setting.measurements, "detail_x")
    return partial(_draw_readings, curves, setting.look.colour, camera)


def _draw_readings(
    curves: Mapping[ReadingName, Curve], edges_colour: str, camera: str, axis: Axes
) -> Axes:
    colours = {"edges": edges_colour, "bars": INK, "texture": SOFT_INK}
    reach = 1.0
    for name, curve in curves.items():
        colour = colours[name]
        axis.fill_between(curve.x, curve.low, curve.high, color=colour, alpha=0.14, linewidth=0)
        pattern = {"edges": "-", "bars": "none", "texture": (0, (5, 1.6))}[name]
        mark = "o" if name == "bars" else "none"
        axis.plot(
            curve.x, curve.value, color=colour, ls=pattern, marker=mark, ms=4, label=LABELS[name]
        )
        small = np.flatnonzero(curve.value < 0.05)
        reach = max(reach, float(curve.x[small[0]] if small.size else curve.x[-1]))
    axis.set(
        xlim=(0, reach),
        ylim=(0, 1.3),
        xlabel="Frequency on the print, cycles/mm",
        ylabel=f"Contrast kept, {camera}",
    )
    axis.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    if curves:
        axis.legend(loc="lower left", handlelength=3)
    return axis


def parting_sentence(curves: Mapping[ReadingName, Curve]) -> str:
    """Say in one line how the readings of a setting stand to each other, and where."""
    found = _parting(curves)
    if found is None:
        return "There are not two readings over the same frequencies to be compared."
    low, high = found.frequencies
    kept = listed(
        f"{name} {100 * mean:.0f} ± {100 * half:.0f} %"
        for name, mean, half in zip(found.order, found.mean, found.half, strict=True)
    )
    verdict = "they part" if any(found.parted) else "they agree"
    return f"On average from {low:.1f} to {high:.1f} cycles/mm {kept}: {verdict}."


def partings_sentence(result: Any) -> str:
    """Say once, for all settings and directions, what it means where the readings part."""
    readings = (readings_of(s, d) for s in settings_of(result) for d in ("x", "y"))
    found = [p for curves in readings if (p := _parting(curves))]
    parted = [p for p in found if any(p.parted)]
    if not parted:
        return AGREE if found else ""
    meanings = dict.fromkeys(m for p in parted for m in _meanings(p))
    everywhere = "They part" if len(parted) == len(found) else "Where they part"
    return f"{everywhere}: {'; '.join(meanings)}."


def _parting(curves: Mapping[ReadingName, Curve]) -> Parting | None:
    return parting({n: Reading(c.x, c.value, c.low, c.high) for n, c in curves.items()})


def _meanings(found: Parting) -> list[str]:
    ends = ((found.order[0], "most", found.parted[0]), (found.order[-1], "least", found.parted[-1]))
    said = [MEANINGS[name, end] for name, end, apart in ends if apart and (name, end) in MEANINGS]
    return said or [OF_TONE]
