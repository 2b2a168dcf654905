"""Plots of places: a criterion with its intervals, and detail against the ppi sent."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.report.plots.csv_rows import criterion_rows, ladder_rows
from dotloupe.report.plots.drawn import WITHIN, note
from dotloupe.report.plots.plot import COLUMN_IN, Plot
from dotloupe.report.plots.style import INK, SERIES, SOFT_INK, look_of
from dotloupe.report.text import BETTER, camera_text, criterion_caption, ladder_caption
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

    from dotloupe.compare.ladder import CriterionLadder
    from dotloupe.compare.ranking import CriterionRanking
    from dotloupe.report.model import LadderModel, RankingModel
    from dotloupe.report.plots.style import Look


def criterion_plot(model: RankingModel, criterion: str) -> Plot:
    """Every setting's mean on one criterion with its 95 % interval, best at the top.

    Small marks are the single prints; a bracket at the right joins settings that cannot be
    distinguished.
    """
    found = model.ranking.criteria[criterion]
    looks = {s.name: look_of(s) for s in model.settings}
    return Plot(
        f"standing_{criterion}",
        "standing",
        criterion_caption(found),
        partial(_draw_criterion, found, looks, camera_text(model.camera(criterion))),
        criterion_rows(found),
        (COLUMN_IN, 0.9 + 0.34 * len(found.places)),
    )


def _draw_criterion(
    found: CriterionRanking, looks: Mapping[str, Look], camera: str, axis: Axes
) -> Axes:
    for row, place in enumerate(found.places):
        look = looks[place.setting]
        colour = look.colour
        single = [p.value for p in place.prints]
        axis.plot(single, np.full(len(single), row), "|", color=colour, ms=9, alpha=0.6)
        if place.at_least:
            axis.plot(place.value, row, ">", color=colour, ms=9, mec="none")
            continue
        axis.plot([place.low, place.high], [row, row], color=colour, lw=2.2, solid_capstyle="butt")
        axis.plot(place.value, row, look.mark, color=colour, ms=7, mec="none")
    rows = {p.setting: i for i, p in enumerate(found.places)}
    for column, group in enumerate(g for g in found.groups if len(g) > 1):
        ends = [rows[s] for s in group]
        x = 1.015 + 0.02 * column
        axis.plot(
            [x, x],
            [min(ends) - 0.2, max(ends) + 0.2],
            color=INK,
            lw=2,
            transform=axis.get_yaxis_transform(),
            clip_on=False,
        )
    axis.set_yticks(range(len(found.places)), [looks[p.setting].label for p in found.places])
    axis.set_ylim(len(found.places) - 0.5, -0.5)
    axis.grid(visible=False, axis="y")
    unit = "" if found.unit in found.title else f"{found.unit}, "
    axis.set_xlabel(f"{unit}{BETTER[found.better]}{camera and f'; {camera}'}")
    return axis


def ladder_plot(model: LadderModel, criterion: str) -> Plot:
    """One criterion against the ppi sent, with 95 % intervals, its trend and its plateau.

    The grey curve is the Nyquist frequency of the file: no file holds more. The camera's own
    ceiling is drawn where it lies within the plot, and named where it lies above.
    """
    climb = model.ladder.criteria[criterion]
    return Plot(
        f"ladder_{criterion}",
        "standing",
        ladder_caption(climb),
        partial(_draw_ladder, climb, model.ladder.share, camera_text(model.camera(criterion))),
        ladder_rows(climb),
    )


def _draw_ladder(climb: CriterionLadder, share: float, camera: str, axis: Axes) -> Axes:
    colour, standing_out = SERIES[0], SERIES[1]
    shown = [end for r in climb.rungs for end in (r.high, *r.prints) if np.isfinite(end)]
    top = max(shown) * 1.12
    if climb.rise is not None:
        rise = climb.rise
        axis.fill_between(rise.sent_ppi, rise.low, rise.high, color=colour, alpha=0.16, lw=0)
        axis.plot(rise.sent_ppi, rise.value, color=colour, label="trend")
        if rise.plateau < top:
            axis.axhline(rise.plateau, color=SOFT_INK, lw=0.8, ls=(0, (4, 2)), label="plateau")
        if rise.enough_ppi is not None:
            axis.axvline(rise.enough_ppi, color=INK, lw=0.8, ls=(0, (1, 1.6)))
            note(axis, f"{100 * share:g} % reached", (rise.enough_ppi, 0.5), (4, 0))
    flagged = {d.sent_ppi for d in climb.departures if d.outstanding}
    for stands, c, mark in ((False, colour, "o"), (True, standing_out, "D")):
        rungs = [r for r in climb.rungs if (r.sent_ppi in flagged) is stands]
        if not rungs:
            continue
        ppi, value, low, high = np.array([(r.sent_ppi, r.value, r.low, r.high) for r in rungs]).T
        label = "stands out from the trend" if stands else "mean of the prints"
        known = np.isfinite(low) & np.isfinite(high)
        ends = np.where(known, (value - low, high - value), 0.0)
        axis.errorbar(ppi, value, yerr=ends, fmt=mark, color=c, label=label)
        for r in rungs:
            axis.plot([r.sent_ppi] * len(r.prints), r.prints, "_", color=c, ms=8, alpha=0.6)
    ppi = np.array([r.sent_ppi for r in climb.rungs])
    if climb.better == "higher":
        line = np.linspace(ppi.min() / 1.2, ppi.max() * 1.2, 50)
        axis.plot(line, line / MM_PER_INCH / 2, color=SOFT_INK, lw=0.9, label="Nyquist of the file")
    _draw_ceiling(climb, axis, top)
    axis.set(
        xlim=(ppi.min() / 1.2, ppi.max() * 1.2),
        ylim=(0, top),
        xscale="log",
        xlabel="Resolution of the file sent, ppi",
        ylabel="\n".join((climb.title, ", ".join(filter(None, (climb.unit, camera))))),
    )
    axis.set_xticks(ppi, [f"{p:g}" for p in ppi])
    axis.set_xticks([], minor=True)
    axis.legend(loc="lower right")
    return axis


def _draw_ceiling(climb: CriterionLadder, axis: Axes, top: float) -> None:
    """Draw what the camera could have shown at best, or say how far above it lies."""
    if climb.ceiling is None:
        return
    frequency = climb.ceiling.frequency
    if frequency <= top:
        axis.axhline(frequency, color=INK, lw=1.0, ls=(0, (6, 2, 1, 2)), label="camera's ceiling")
        return
    above = f"camera's ceiling: {frequency:.0f} {climb.unit}"
    note(axis, above, (0.99, 1), (0, -4), coordinates=WITHIN, ha="right", va="top")
