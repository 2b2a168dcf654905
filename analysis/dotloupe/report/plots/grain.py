"""Plots of grain: how much is seen in each tint, and how coarse it is."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare import tint_said
from dotloupe.measure import cycles_per_mm, dooley_shaw_transfer
from dotloupe.report.plots.csv_rows import curve_rows, tint_rows
from dotloupe.report.plots.curves import (
    Curve,
    TintGrain,
    mean_curves,
    noise_curve,
    tint_grain,
)
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import SOFT_INK, Look, look_of
from dotloupe.report.text import noise_caption, tint_grain_caption, tint_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.report.model import ReportModel


def tint_grain_plot(model: ReportModel) -> Plot:
    """Visible grain of every tint, light to dark, with 95 % intervals."""
    found = [(s, tint_grain(s)) for s in model.settings]
    return Plot(
        "grain_tints",
        "grain",
        tint_grain_caption(model),
        partial(_draw_tint_grain, [(look_of(s), tints) for s, tints in found]),
        tint_rows(found),
    )


def _draw_tint_grain(settings: Sequence[tuple[Look, tuple[TintGrain, ...]]], axis: Axes) -> Axes:
    names: dict[str, float] = {}
    for _, tints in settings:
        names |= {t.tint: t.mean_lightness for t in tints if t.tint not in names}
    order = sorted(names, key=lambda n: -names[n])
    step = 0.7 / max(len(settings), 1)
    for index, (look, tints) in enumerate(settings):
        if not tints:
            continue
        shift = (index - (len(settings) - 1) / 2) * step
        at = np.array([order.index(t.tint) for t in tints]) + shift
        value, low, high = np.array([(t.value, t.low, t.high) for t in tints]).T
        axis.errorbar(
            at,
            value,
            yerr=(np.clip(value - low, 0, None), np.clip(high - value, 0, None)),
            color=look.colour,
            fmt=look.mark,
            ms=5,
            elinewidth=1.2,
            label=look.label,
        )
    for edge in range(len(order) - 1):
        axis.axvline(edge + 0.5, color=SOFT_INK, lw=0.3)
    axis.set_xticks(range(len(order)), [tint_name(n) for n in order])
    axis.grid(visible=False, axis="x")
    axis.set_ylim(bottom=0)
    axis.set(
        xlabel="Tint, from light to dark (share of the paper's light that greys reflect)",
        ylabel="Visible grain, L* rms",
    )
    _legend(axis)
    return axis


def noise_plot(model: ReportModel, tint: str) -> Plot:
    """Noise power of one tint, with 95 % bands and what the eye lets through.

    Parameters
    ----------
    model : ReportModel
    tint : str
        Name of its region; `middle_tint` chooses the neutral one nearest to mid-grey.
    """
    curves = mean_curves(model.settings, noise_curve(tint), of_logs=True)
    drawn = [(look_of(s), curve) for s, curve in curves]
    return Plot(
        "grain_spectrum",
        "grain",
        noise_caption(),
        partial(_draw_noise, drawn, model.viewing_distance_mm, f"Tint: {tint_said(tint)}"),
        curve_rows(curves, "frequency_cycles_per_mm", "power_lstar2_mm2"),
    )


def _draw_noise(
    curves: Sequence[tuple[Look, Curve]], distance_mm: float | None, title: str, axis: Axes
) -> Axes:
    least, most = np.inf, 0.0
    floor, ceiling = np.inf, 0.0
    for look, curve in curves:
        axis.fill_between(
            curve.x, curve.low, curve.high, color=look.colour, alpha=0.16, linewidth=0
        )
        floor = min(floor, 0.3 * float(curve.value.min()))
        ceiling = max(ceiling, 3 * float(curve.value.max()))
        axis.plot(curve.x, curve.value, color=look.colour, ls=look.pattern, label=look.label)
        least, most = min(least, float(curve.x[0])), max(most, float(curve.x[-1]))
    axis.set(
        xscale="log",
        yscale="log",
        xlabel="Frequency on the print, cycles/mm",
        ylabel="Noise power, L*² mm²",
    )
    axis.xaxis.set_major_formatter(lambda v, _: f"{v:g}")
    axis.yaxis.set_major_formatter(lambda v, _: f"{v:g}")
    if most:
        axis.set(xlim=(least, most), ylim=(floor, ceiling))
        if distance_mm is not None:
            _eye_band(axis, distance_mm, most)
    axis.set_title(title)
    # below the curves where they begin, and above what names the eye's band
    _legend(axis, loc="lower left", bbox_to_anchor=(0, 0.08))
    return axis


def _eye_band(axis: Axes, distance_mm: float, most: float) -> None:
    """Mark the frequencies that the eye passes with half of its best response or more."""
    cpd = np.geomspace(0.1, 60, 2000)
    passed = cycles_per_mm(cpd[dooley_shaw_transfer(cpd) >= 0.5], distance_mm)
    low, high = float(passed[0]), min(float(passed[-1]), most)
    if low >= high:
        return
    axis.axvspan(low, high, color=SOFT_INK, alpha=0.1, lw=0)
    axis.annotate(
        f"seen best from {distance_mm / 10:g} cm",
        ((low * high) ** 0.5, 0),
        (0, 4),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        ha="center",
        color=SOFT_INK,
        fontsize=8,
    )


def _legend(axis: Axes, **place: Any) -> None:
    if axis.get_legend_handles_labels()[0]:
        axis.legend(**{"loc": "best", "handlelength": 3, **place})
