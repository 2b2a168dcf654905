"""Plots of detail: the response to edges and the contrast of bars."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.measure.seeing import cycles_per_degree, cycles_per_mm
from dotloupe.report.curves import bars_curve, detail_curve, mean_curve
from dotloupe.report.settings import (
    USUAL_DISTANCE_MM,
    camera_in,
    settings_of,
    viewing_distance_mm,
)
from dotloupe.report.style import INK, SOFT_INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ARC_MINUTE_CPD = 30.0
"""One arc minute to a line, which ordinary eyesight (6/6) reads; a line pair takes two."""


def plot_detail(result: Any, axis: Axes, *, criterion: str = "detail_x") -> Axes:
    """Draw the response of every setting to edges of one direction, with 95 % bands.

    Parameters
    ----------
    result : Ranking, Ladder or Trend
    axis : matplotlib axis
    criterion : str
        "detail_x", "detail_y", or the same of the dark edges, "detail_dark_x", "detail_dark_y".

    Returns
    -------
    matplotlib axis
        Frequency on the print below, at the eye above.
    """
    distance_mm = viewing_distance_mm(result) or USUAL_DISTANCE_MM
    reach = 1.25 * float(cycles_per_mm(ARC_MINUTE_CPD, distance_mm))
    for setting in settings_of(result):
        curve = mean_curve(setting, detail_curve(criterion))
        if curve is None:
            continue
        look = setting.look
        axis.fill_between(
            curve.x, curve.low, curve.high, color=look.colour, alpha=0.16, linewidth=0
        )
        axis.plot(curve.x, curve.value, color=look.colour, ls=look.pattern, label=setting.label)
        small = np.flatnonzero(curve.value < 0.05)
        reach = max(reach, float(curve.x[small[0]] if small.size else curve.x[-1]))
    axis.axhline(0.5, color=SOFT_INK, lw=0.6)
    axis.annotate(
        "half kept",
        (1, 0.5),
        (-2, 2),
        xycoords=("axes fraction", "data"),
        textcoords="offset points",
        ha="right",
        color=SOFT_INK,
        fontsize=8,
    )
    axis.set(
        xlim=(0, reach),
        ylim=(0, 1.1),
        xlabel="Frequency on the print, cycles/mm",
        ylabel=f"Contrast kept (MTF), {camera_in(result, criterion)}",
    )
    axis.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    _eye_scale(axis, distance_mm)
    _legend(axis)
    return axis


def plot_line_pairs(result: Any, axis: Axes, *, direction: str = "x") -> Axes:
    """Draw the contrast of every bar group of one direction, with 95 % intervals.

    Filled marks are groups that every print of the setting resolves with all groups below it.
    """
    settings = settings_of(result)
    drawn: list[float] = []
    thresholds: set[float] = set()
    nyquist: set[float] = set()
    for setting in settings:
        limits = [
            m.details["limits"][direction]
            for m in setting.measurements
            if direction in m.details.get("limits", {})
        ]
        if not limits:
            continue
        frequency = limits[0].frequency
        curve = mean_curve(setting, bars_curve(direction), frequency)
        if curve is None:
            continue
        thresholds |= {limit.threshold for limit in limits}
        nyquist |= {limit.nyquist for limit in limits if limit.nyquist}
        counted = np.all([np.isin(frequency, c.frequency[c.counted]) for c in limits], axis=0)
        look = setting.look
        spread = np.clip([curve.value - curve.low, curve.high - curve.value], 0, None)
        # side by side where they would cover one another
        shifted = frequency * 1.008 ** (setting.index - (len(settings) - 1) / 2)
        axis.errorbar(
            shifted,
            curve.value,
            yerr=spread,
            color=look.colour,
            ls=look.pattern,
            lw=1,
            elinewidth=0.9,
        )
        for kept, face in ((counted, look.colour), (~counted, "none")):
            axis.plot(
                shifted[kept],
                curve.value[kept],
                look.mark,
                ms=4.5,
                mec=look.colour,
                mfc=face,
                label=setting.label if face != "none" else None,
            )
        drawn += frequency.tolist()
    for threshold in thresholds:
        axis.axhline(threshold, color=SOFT_INK, lw=0.6)
        axis.annotate(
            f"resolved above {100 * threshold:.0f} %",
            (1, threshold),
            (-2, 2),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            ha="right",
            color=SOFT_INK,
            fontsize=8,
        )
    if len(nyquist) == 1:
        _upright(axis, nyquist.pop(), "Nyquist of the file sent")
    axis.set(
        xscale="log",
        ylim=(0, 1.05),
        xlabel="Bars, line pairs per mm",
        ylabel=f"Contrast of the bars, {camera_in(result, f'line_pairs_{direction}')}",
    )
    ticks = [f for f in (2, 3, 4, 5, 6, 8, 10, 12, 16, 20) if drawn and f <= 1.02 * max(drawn)]
    axis.set_xticks(ticks, [str(f) for f in ticks])
    axis.set_xticks([], minor=True)
    axis.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    _legend(axis, lift=0.13)
    return axis


def _eye_scale(axis: Axes, distance_mm: float) -> None:
    """Cycles per degree along the top, and where one arc minute lies."""
    top = axis.secondary_xaxis(
        "top",
        functions=(
            lambda f: cycles_per_degree(f, distance_mm),
            lambda f: cycles_per_mm(f, distance_mm),
        ),
    )
    top.set_xlabel(f"At the eye from {distance_mm / 10:g} cm, cycles per degree")
    top.spines["top"].set_visible(False)
    finest = float(cycles_per_mm(ARC_MINUTE_CPD, distance_mm))
    _upright(axis, finest, "ordinary eyesight")


def _upright(axis: Axes, x: float, words: str) -> None:
    axis.axvline(x, color=INK, lw=0.8, ls=(0, (1, 1.6)))
    axis.annotate(
        words,
        (x, 1),
        (3, -3),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        rotation=90,
        ha="left",
        va="top",
        color=SOFT_INK,
        fontsize=8,
    )


def _legend(axis: Axes, lift: float = 0.0) -> None:
    """Below the curves, where they begin: a phone shows that part of a plot first."""
    if axis.get_legend_handles_labels()[0]:
        axis.legend(loc="lower left", bbox_to_anchor=(0, lift), handlelength=3)
