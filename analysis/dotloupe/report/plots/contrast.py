"""Map of frequency by contrast: which gratings survive a print, by tone and direction."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measurement import PatchMeasurement
from dotloupe.report.plots.csv_rows import guarded
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import INK, RULE, SOFT_INK, look_of
from dotloupe.report.text import TONES, contrast_caption

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes

    from dotloupe.measure.contrast import ContrastMap, Grating, Survival
    from dotloupe.report.model import ReportModel, Setting
    from dotloupe.report.plots.csv_rows import Row

SIZE_IN = (6.4, 7.2)
MODULATIONS = (0.04, 0.1, 0.25, 0.8)
TICKS = (1, 2, 4, 8)
FREQUENCY_ENDS, MODULATION_ENDS = (0.8, 14.0), (0.008, 1.1)


@dataclass(frozen=True)
class _Panel:
    """One tone and direction of a setting.

    Attributes
    ----------
    title : str
    points : tuple of (float, float, float, bool)
        lp/mm, modulation, share of photographs in which it survives, and whether the file
        carries it.
    borders : tuple of (float, float)
        lp/mm up to which a modulation survives, mean over the prints, and the modulation; none
        where the finest grating survives in all prints.
    seen : tuple of (float, float)
        lp/mm, and the least modulation seen.
    """

    title: str
    points: tuple[tuple[float, float, float, bool], ...]
    borders: tuple[tuple[float, float], ...]
    seen: tuple[tuple[float, float], ...]


def contrast_plots(model: ReportModel) -> Iterator[Plot]:
    """One map for every setting that has contrast patches.

    Parameters
    ----------
    model : ReportModel
    """
    for setting in model.settings:
        maps = _maps(setting)
        if maps:
            panels = [_panel(same) for same in maps.values()]
            yield Plot(
                f"contrast_{setting.index + 1}",
                "contrast",
                contrast_caption(setting.name, model.looked_at_from_mm),
                partial(_draw, panels, look_of(setting).colour),
                list(_rows(setting.name, maps)),
                SIZE_IN,
            )


def _maps(setting: Setting) -> dict[tuple[str, str], list[ContrastMap]]:
    """Maps of all photographs of a setting, by tone and direction; greys alone."""
    found: dict[tuple[str, str], list[ContrastMap]] = defaultdict(list)
    for m in setting.measurements:
        if isinstance(m, PatchMeasurement):
            for one in m.contrast:
                if not one.ink:
                    found[one.tone, one.axis].append(one)
    return {(tone, axis): found[tone, axis] for tone in TONES for axis in "xy" if found[tone, axis]}


def _panel(maps: Sequence[ContrastMap]) -> _Panel:
    """Means over photographs, of which some may show a part of the patch."""
    gratings: dict[tuple[float, float], list[Grating]] = defaultdict(list)
    survivals: dict[float, list[Survival]] = defaultdict(list)
    seen: dict[float, list[float]] = defaultdict(list)
    for one in maps:
        for g in one.gratings:
            gratings[g.frequency, g.modulation].append(g)
        for s in one.survivals:
            survivals[s.modulation].append(s)
        for c in one.seen:
            seen[c.frequency].append(c.modulation)
    return _Panel(
        f"{TONES[maps[0].tone]}, along {maps[0].axis}",
        tuple(
            (*place, float(np.mean([g.survives for g in same])), same[0].carried)
            for place, same in gratings.items()
        ),
        tuple(
            (float(np.mean([s.limit or 0.0 for s in same])), modulation)
            for modulation, same in survivals.items()
            if not all(s.ended_by == "gratings" for s in same)
        ),
        tuple((frequency, float(np.median(same))) for frequency, same in sorted(seen.items())),
    )


def _rows(name: str, maps: dict[tuple[str, str], list[ContrastMap]]) -> Iterator[Row]:
    for (tone, axis), same in maps.items():
        for number, one in enumerate(same, start=1):
            for g in one.gratings:
                low, high = g.response_interval
                yield {
                    "setting": guarded(name),
                    "photograph": number,
                    "tone": tone,
                    "axis": axis,
                    "frequency_lp_per_mm": g.frequency,
                    "modulation": g.modulation,
                    "response": g.response,
                    "low": low,
                    "high": high,
                    "survives": g.survives,
                }


def _draw(panels: Sequence[_Panel], colour: str, axis: Axes) -> Axes:
    axis.set_axis_off()
    columns = 2
    rows = -(-len(panels) // columns)
    for k, panel in enumerate(panels):
        row, column = divmod(k, columns)
        place = (column * 0.53 + 0.07, 1 - (row + 0.86) / rows, 0.4, 0.7 / rows)
        _draw_panel(panel, colour, axis.inset_axes(place), words=(column == 0, row == rows - 1))
    return axis


def _draw_panel(panel: _Panel, colour: str, axis: Axes, *, words: tuple[bool, bool]) -> None:
    for frequency, modulation, share, carried in panel.points:
        if not carried:
            axis.plot(frequency, modulation, "x", color=RULE, ms=5)
            continue
        axis.plot(frequency, modulation, "o", ms=6, mec=colour, mfc="none", mew=1)
        axis.plot(frequency, modulation, "o", ms=6, mec="none", mfc=colour, alpha=share)
    border = np.array([b for b in panel.borders if b[0] > 0])
    if len(border):
        axis.plot(border[:, 0], border[:, 1], color=INK, lw=1.4)
    seen = np.array([s for s in panel.seen if np.isfinite(s[1])])
    if len(seen):
        axis.plot(seen[:, 0], seen[:, 1], color=SOFT_INK, lw=1, ls=(0, (4, 2)))
    axis.set(xscale="log", yscale="log", xlim=FREQUENCY_ENDS, ylim=MODULATION_ENDS)
    axis.set_title(panel.title, fontsize=9)
    axis.set_xticks(TICKS, [str(t) for t in TICKS])
    axis.set_xticks([], minor=True)
    axis.set_yticks(MODULATIONS, [f"{100 * m:.0f} %" for m in MODULATIONS])
    axis.set_yticks([], minor=True)
    if words[0]:
        axis.set_ylabel("Contrast sent")
    if words[1]:
        axis.set_xlabel("Line pairs per mm")
