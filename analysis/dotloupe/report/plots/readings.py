"""Plot of the three readings of detail side by side."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure import READINGS, Parting, Reading, ReadingName, parting
from dotloupe.measurement import camera_state
from dotloupe.report.plots.csv_rows import reading_rows
from dotloupe.report.plots.curves import Curve, mean_reading
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import INK, SOFT_INK, look_of
from dotloupe.report.text import camera_text, readings_caption, readings_sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from dotloupe.report.model import ReportModel, Setting

LABELS: dict[ReadingName, str] = {
    "edges": "slanted edges",
    "bars": "bars (Coltman's series)",
    "texture": "texture, against the file",
}


@dataclass(frozen=True)
class SettingReadings:
    """The readings of detail of one setting along one axis, and how they compare."""

    setting: Setting
    axis: str
    curves: Mapping[ReadingName, Curve]

    @property
    def parting(self) -> Parting | None:
        """How they compare; None where no two share frequencies."""
        readings = {n: Reading(c.x, c.value, c.low, c.high) for n, c in self.curves.items()}
        return parting(readings)


def readings_of(setting: Setting, axis: str) -> SettingReadings:
    """Mean curve of every reading that a setting's prints have along one axis."""
    found = {name: mean_reading(setting, name, axis) for name in READINGS}
    curves = {name: curve for name, curve in found.items() if curve is not None}
    return SettingReadings(setting, axis, curves)


def all_readings(model: ReportModel) -> tuple[SettingReadings, ...]:
    """Readings of every setting along both axes."""
    return tuple(readings_of(s, axis) for s in model.settings for axis in ("x", "y"))


def readings_plot(found: SettingReadings) -> Plot:
    """Detail by edges, bars and texture of one setting, with 95 % bands."""
    setting = found.setting
    camera = camera_text(camera_state(setting.measurements, "detail_x"))
    return Plot(
        f"readings_{setting.index + 1}_{found.axis}",
        "readings",
        readings_caption(setting.name, found.axis, readings_sentence(found.parting)),
        partial(_draw_readings, found.curves, look_of(setting).colour, camera),
        reading_rows(setting, found.curves),
    )


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
