"""Plot of a printer over time."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.report.plots.csv_rows import trend_rows
from dotloupe.report.plots.drawn import note
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import INK, SERIES, SOFT_INK
from dotloupe.report.text import BETTER, trend_caption
from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.compare.history import Trend


def trend_plot(trend: Trend) -> Plot:
    """Every print in time with its 95 % interval, baselines, limits and what was done.

    The line joins the means of the days. A shaded band lies between the limits that a baseline
    sets, from its first day to the last that is compared with it; visits that were found changed
    are drawn as diamonds.
    """
    return Plot(
        f"trend_{trend.criterion}",
        "time",
        trend_caption(trend),
        partial(_draw_trend, trend),
        trend_rows(trend),
        (9.0, 3.8),
    )


def _draw_trend(trend: Trend, axis: Axes) -> Axes:
    day = np.array([p.printed_on for p in trend.points], dtype="datetime64[D]")
    value = np.array([p.value for p in trend.points])
    error = NORMAL_95 * np.nan_to_num([p.standard_error for p in trend.points])
    outside = np.isin(np.arange(len(day)), trend.outside)
    days = np.unique(day)
    axis.plot(days, [value[day == d].mean() for d in days], color=SERIES[0], lw=0.8, alpha=0.6)
    for chosen, colour, mark, label in (
        (~outside, SERIES[0], "o", "print"),
        (outside, SERIES[1], "D", "print of a day that was found changed"),
    ):
        if chosen.any():
            axis.errorbar(
                day[chosen], value[chosen], yerr=error[chosen], fmt=mark, color=colour, label=label
            )
    for number, baseline in enumerate(trend.baselines):
        span = np.array([baseline.first, baseline.until], dtype="datetime64[D]")
        if baseline.lower is not None and baseline.upper is not None:
            band = axis.fill_between(
                span, baseline.lower, baseline.upper, color=SOFT_INK, alpha=0.12, lw=0
            )
            band.set_label("_" if number else "limits of a day's mean")
        axis.plot(span, [baseline.centre] * 2, color=SOFT_INK, lw=0.8)
    for event in trend.events:
        happened = np.datetime64(event.happened_on)
        upright = axis.get_xaxis_transform()
        axis.plot([happened] * 2, [0, 1], color=INK, lw=0.8, ls=(0, (1, 1.6)), transform=upright)
        note(axis, event.kind, (happened, 1), (3, -3), va="top", upright=True)
    better = f": {BETTER[trend.better]}" if trend.better else ""
    axis.set(xlabel="Day of the print", ylabel=f"{trend.title}, {trend.unit}{better}")
    axis.margins(x=0.04)
    axis.legend(loc="best")
    return axis
