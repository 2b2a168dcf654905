"""Plots of grain: how much is seen in each tint, and how coarse it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare import tint_said
from dotloupe.measure import cycles_per_mm, dooley_shaw_transfer
from dotloupe.report.plots.curves import (
    Curve,
    TintGrain,
    mean_curve,
    middle_tint,
    noise_curve,
    tint_grain,
)
from dotloupe.report.plots.style import SOFT_INK, Look
from dotloupe.report.settings import settings_of, viewing_distance_mm
from dotloupe.report.text import tint_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_tint_grain(result: Any, axis: Axes) -> Axes:
    """Draw the visible grain of every tint, light to dark, with 95 % intervals."""
    return tint_grain_drawing(result)(axis)


def tint_grain_drawing(result: Any) -> partial[Axes]:
    """Gather what `plot_tint_grain` draws."""
    return partial(
        _draw_tint_grain, [(s.label, s.look, tint_grain(s)) for s in settings_of(result)]
    )


def _draw_tint_grain(
    settings: Sequence[tuple[str, Look, tuple[TintGrain, ...]]], axis: Axes
) -> Axes:
    names: dict[str, float] = {}
    for _, _, tints in settings:
        names |= {t.tint: t.mean_lightness for t in tints if t.tint not in names}
    order = sorted(names, key=lambda n: -names[n])
    step = 0.7 / max(len(settings), 1)
    for index, (label, look, tints) in enumerate(settings):
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
            label=label,
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


def plot_noise_spectrum(result: Any, axis: Axes, *, tint: str | None = None) -> Axes:
    """Draw the noise power of one tint, with 95 % bands and what the eye lets through.

    Parameters
    ----------
    result : Ranking, Ladder or Trend
    axis : matplotlib axis
    tint : str, optional
        Name of its region; else the neutral tint nearest to mid-grey.
    """
    return noise_drawing(result, tint or middle_tint(settings_of(result)))(axis)


def noise_drawing(result: Any, tint: str | None) -> partial[Axes]:
    """Gather what `plot_noise_spectrum` draws."""
    curves = [
        (s.label, s.look, curve)
        for s in settings_of(result)
        if tint is not None
        and (curve := mean_curve(s, noise_curve(tint), of_logs=True)) is not None
    ]
    return partial(_draw_noise, curves, viewing_distance_mm(result), tint)


def _draw_noise(
    curves: Iterable[tuple[str, Look, Curve]],
    distance_mm: float | None,
    tint: str | None,
    axis: Axes,
) -> Axes:
    least, most = np.inf, 0.0
    floor, ceiling = np.inf, 0.0
    for label, look, curve in curves:
        axis.fill_between(
            curve.x, curve.low, curve.high, color=look.colour, alpha=0.16, linewidth=0
        )
        floor = min(floor, 0.3 * float(curve.value.min()))
        ceiling = max(ceiling, 3 * float(curve.value.max()))
        axis.plot(curve.x, curve.value, color=look.colour, ls=look.pattern, label=label)
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
    if tint is not None:
        axis.set_title(f"Tint: {tint_said(tint)}")
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
