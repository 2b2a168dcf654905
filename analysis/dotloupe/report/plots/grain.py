"""Plots of grain: how much is seen in each tint, and how coarse it is."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure import cycles_per_mm, dooley_shaw_transfer
from dotloupe.number import tint_title
from dotloupe.report.plots.csv_rows import curve_rows, tint_rows
from dotloupe.report.plots.curves import (
    Curve,
    TintGrain,
    mean_curves,
    noise_curve,
    tint_grain,
)
from dotloupe.report.plots.drawn import draw_curve, draw_intervals, legend_above, note
from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import SOFT_INK, Look, look_of
from dotloupe.report.text import noise_caption, tint_grain_caption, tint_tick

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
    lightness: dict[str, float] = {}
    for _, tints in settings:
        lightness = {t.tint: t.mean_lightness for t in tints} | lightness
    order = sorted(lightness, key=lambda n: -lightness[n])
    found = [(look, {t.tint: (t.value, t.low, t.high) for t in tints}) for look, tints in settings]
    draw_intervals(axis, found, {n: tint_tick(n) for n in order})
    axis.set_ylim(bottom=0)
    axis.set(
        xlabel="Tint, from light to dark (share of the paper's light that greys reflect)",
        ylabel="Visible grain, L* rms",
    )
    legend_above(axis)
    return axis


def noise_plot(model: ReportModel, tint: str) -> Plot:
    """Noise power of one tint, with 95 % bands and what the eye lets through.

    Parameters
    ----------
    model : ReportModel
    tint : str
        As the patch names it; `middle_tint` chooses the neutral one nearest to mid-grey.
    """
    curves = mean_curves(model.settings, noise_curve(tint), of_logs=True)
    drawn = [(look_of(s), curve) for s, curve in curves]
    return Plot(
        "grain_spectrum",
        "grain",
        noise_caption(),
        partial(_draw_noise, drawn, model.viewing_distance_mm, f"Tint: {tint_title(tint)}"),
        curve_rows(curves, "frequency_cycles_per_mm", "power_lstar2_mm2"),
    )


def _draw_noise(
    curves: Sequence[tuple[Look, Curve]], distance_mm: float | None, title: str, axis: Axes
) -> Axes:
    least, most = np.inf, 0.0
    floor, ceiling = np.inf, 0.0
    for look, curve in curves:
        floor = min(floor, 0.3 * float(curve.value.min()))
        ceiling = max(ceiling, 3 * float(curve.value.max()))
        draw_curve(axis, look, curve)
        least, most = min(least, float(curve.x[0])), max(most, float(curve.x[-1]))
    axis.set(
        xscale="log",
        yscale="log",
        xlabel="Frequency on the print, cycles/mm",
        ylabel="Noise power, L*² mm²",
    )
    axis.xaxis.set_major_formatter(lambda v, _: f"{v:g}")
    axis.yaxis.set_major_formatter(lambda v, _: np.format_float_positional(v, trim="-"))
    if most:
        axis.set(xlim=(least, most), ylim=(floor, ceiling))
        if distance_mm is not None:
            _eye_band(axis, distance_mm, least, most)
    axis.set_title(title)
    # below the curves where they begin, and above what names the eye's band
    axis.legend(loc="lower left", bbox_to_anchor=(0, 0.08), handlelength=3)
    return axis


def _eye_band(axis: Axes, distance_mm: float, least: float, most: float) -> None:
    """Mark the frequencies that the eye passes with half of its best response or more."""
    cpd = np.geomspace(0.1, 60, 2000)
    passed = cycles_per_mm(cpd[dooley_shaw_transfer(cpd) >= 0.5], distance_mm)
    low, high = max(float(passed[0]), least), min(float(passed[-1]), most)
    if low >= high:
        return
    axis.axvspan(low, high, color=SOFT_INK, alpha=0.1, lw=0)
    best = f"seen best from {distance_mm / 10:g} cm"
    note(axis, best, ((low * high) ** 0.5, 0), (0, 4), ha="center")
