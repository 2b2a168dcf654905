"""Plots of detail: the response to edges and the contrast of bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure import IdealCamera, cycles_per_degree, cycles_per_mm
from dotloupe.measurement import CameraState
from dotloupe.report.plots.csv_rows import curve_rows
from dotloupe.report.plots.curves import (
    Curve,
    bars_curve,
    detail_curve,
    limit_of,
    mean_curve,
    mean_curves,
)
from dotloupe.report.plots.drawn import (
    BESIDE_DATA,
    DOTTED,
    WITHIN,
    draw_curve,
    legend,
    named_upright,
    note,
)
from dotloupe.report.plots.plot import COLUMN_IN, USUAL_SIZE_IN, Plot
from dotloupe.report.plots.style import RULE, SOFT_INK, Look, look_of
from dotloupe.report.text import camera_text, detail_caption, line_pairs_caption, short

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.arrays import BoolArray, FloatArray
    from dotloupe.number import Measurand
    from dotloupe.report.model import ReportModel, Setting

MOST_IN_ONE, PANELS_ACROSS = 3, 3
"""Curves whose bands one plot can show, and panels side by side where there are more."""
ARC_MINUTE_CPD = 30.0
"""One arc minute to a line, which ordinary eyesight (6/6) reads; a line pair takes two."""
FINEST_BOUND_PER_MM = 60.0
"""Beyond any frequency drawn."""


def detail_plot(model: ReportModel, detail: Measurand) -> Plot:
    """Response of every setting to edges of one direction and tone, with 95 % bands.

    Parameters
    ----------
    model : ReportModel
    detail : Measurand
        Of which direction, and of which edges.

    Returns
    -------
    Plot
        Frequency on the print below, at the eye above.
    """
    curves = mean_curves(model.settings, detail_curve(detail.name))
    looks = [(look_of(s), curve) for s, curve in curves]
    # edges of all tones are seen by one camera
    camera = camera_text(model.camera(replace(detail, tone="").name))
    many = len(curves) > MOST_IN_ONE
    return Plot(
        detail.name,
        "detail",
        detail_caption(detail, each_by_itself=many),
        partial(_draw_each, looks, camera)
        if many
        else partial(_draw_detail, looks, model.looked_at_from_mm, camera, camera_bound(model)),
        curve_rows(curves, "frequency_cycles_per_mm", "mtf"),
        (COLUMN_IN, 0.7 + 1.2 * ceil(len(curves) / PANELS_ACROSS)) if many else USUAL_SIZE_IN,
    )


def _draw_each(curves: Sequence[tuple[Look, Curve]], camera: str, axis: Axes) -> Axes:
    """Draw a small panel for each setting with its band, the curves of the others thin."""
    figure = axis.figure
    axis.remove()
    rows = ceil(len(curves) / PANELS_ACROSS)
    panels = figure.subplots(rows, PANELS_ACROSS, sharex=True, sharey=True, squeeze=False).ravel()
    reach = max(_reach(curve) for _, curve in curves)
    for panel, (look, curve) in zip(panels, curves, strict=False):
        for _, other in curves:
            panel.plot(other.x, other.value, color=RULE, lw=0.8)
        draw_curve(panel, replace(look, pattern="-"), curve)
        panel.axhline(0.5, color=SOFT_INK, lw=0.6)
        name = short(look.label, 18)
        note(panel, name, (1, 1), (-2, -9), coordinates=WITHIN, ha="right", in_layout=False)
        panel.set(xlim=(0, reach), ylim=(0, 1.1))
        panel.tick_params(labelbottom=True)
        panel.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    for empty in panels[len(curves) :]:
        empty.set_axis_off()
    figure.supxlabel("Frequency on the print, cycles/mm", color=SOFT_INK, size="medium")
    figure.supylabel(f"Contrast kept (MTF), {camera}", color=SOFT_INK, size="medium")
    return panels[0]


@dataclass(frozen=True)
class CameraBound:
    """What the camera passes at best; no curve with the camera in it can be higher.

    Attributes
    ----------
    frequency, mtf : ndarray, shape (m,)
        Cycles/mm, and the most over the set-ups of the photographs.
    has_diffraction : bool
        False where a file does not state aperture and pixel pitch: then the pixel's bound alone.
    """

    frequency: FloatArray
    mtf: FloatArray
    has_diffraction: bool


def camera_bound(model: ReportModel) -> CameraBound | None:
    """Bound of the photographs that have their camera in them; None where none has.

    Parameters
    ----------
    model : ReportModel
    """
    shots = [p for s in model.settings for m in s.measurements for p in m.photographs if p.fit]
    set_ups = {
        (m.set_up.f_number, m.set_up.pixel_pitch_um, m.set_up.pixels_per_mm)
        for m in shots
        if m.set_up is not None and m.parameters.camera is CameraState.INCLUDED
    }
    if not set_ups:
        return None
    frequency = np.linspace(0.0, FINEST_BOUND_PER_MM, 201)
    ideals = [(IdealCamera(f, pitch), per_mm) for f, pitch, per_mm in set_ups]
    mtf = np.max([ideal.mtf(frequency, per_mm) for ideal, per_mm in ideals], axis=0)
    return CameraBound(frequency, mtf, all(ideal.has_diffraction for ideal, _ in ideals))


def _draw_detail(
    curves: Sequence[tuple[Look, Curve]],
    distance_mm: float,
    camera: str,
    bound: CameraBound | None,
    axis: Axes,
) -> Axes:
    reach = 1.25 * float(cycles_per_mm(ARC_MINUTE_CPD, distance_mm))
    for look, curve in curves:
        draw_curve(axis, look, curve)
        reach = max(reach, _reach(curve))
    if bound is not None:
        what = "pixel and diffraction" if bound.has_diffraction else "pixel"
        said = f"camera's limit ({what})"
        axis.plot(bound.frequency, bound.mtf, color=SOFT_INK, lw=0.8, ls=DOTTED, label=said)
    axis.axhline(0.5, color=SOFT_INK, lw=0.6)
    note(axis, "half kept", (1, 0.5), (-2, 2), coordinates=BESIDE_DATA, ha="right")
    axis.set(
        xlim=(0, reach),
        ylim=(0, 1.1),
        xlabel="Frequency on the print, cycles/mm",
        ylabel=f"Contrast kept (MTF), {camera}",
    )
    axis.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    _eye_scale(axis, distance_mm)
    legend(axis, "upper right")
    return axis


def _reach(curve: Curve) -> float:
    """Frequency up to which a curve is worth drawing: where it has fallen to 5 %."""
    small = np.flatnonzero(curve.value < 0.05)
    return float(curve.x[small[0]] if small.size else curve.x[-1])


@dataclass(frozen=True)
class _Bars:
    """The bar groups of one setting, and which of them every print resolves."""

    look: Look
    beside: float
    curve: Curve
    counted: BoolArray
    thresholds: tuple[float, ...]
    nyquist: tuple[float, ...]


def line_pairs_plot(model: ReportModel, axis: str) -> Plot:
    """Contrast of every bar group of one direction, with 95 % intervals.

    Filled marks are groups that every print of the setting resolves with all groups below it.

    Parameters
    ----------
    model : ReportModel
    axis : {"x", "y"}
    """
    middle = (len(model.settings) - 1) / 2
    bars = [(s, b) for s in model.settings if (b := _bars_of(s, axis, s.index - middle))]
    name = f"line_pairs_{axis}"
    return Plot(
        name,
        "detail",
        line_pairs_caption(axis),
        partial(_draw_line_pairs, [b for _, b in bars], camera_text(model.camera(name))),
        curve_rows([(s, b.curve) for s, b in bars], "line_pairs_per_mm", "contrast"),
    )


def _bars_of(setting: Setting, direction: str, beside: float) -> _Bars | None:
    limits = [limit for m in setting.measurements if (limit := limit_of(m, direction)) is not None]
    if not limits:
        return None
    frequency = limits[0].frequency
    curve = mean_curve(setting, bars_curve(direction), frequency)
    if curve is None:
        return None
    return _Bars(
        look=look_of(setting),
        beside=beside,
        curve=curve,
        counted=np.all([np.isin(frequency, c.frequency[c.counted]) for c in limits], axis=0),
        thresholds=tuple(dict.fromkeys(limit.threshold for limit in limits)),
        nyquist=tuple(dict.fromkeys(limit.nyquist for limit in limits if limit.nyquist)),
    )


def _draw_line_pairs(bars: Sequence[_Bars], camera: str, axis: Axes) -> Axes:
    for one in bars:
        curve, look = one.curve, one.look
        spread = np.clip([curve.value - curve.low, curve.high - curve.value], 0, None)
        # side by side where they would cover one another
        shifted = curve.x * 1.008**one.beside
        axis.errorbar(
            shifted,
            curve.value,
            yerr=spread,
            color=look.colour,
            ls=look.pattern,
            lw=1,
            elinewidth=0.9,
        )
        for kept, face in ((one.counted, look.colour), (~one.counted, "none")):
            axis.plot(
                shifted[kept],
                curve.value[kept],
                look.mark,
                ms=4.5,
                mec=look.colour,
                mfc=face,
                label=look.label if face != "none" else None,
            )
    for threshold in dict.fromkeys(t for one in bars for t in one.thresholds):
        axis.axhline(threshold, color=SOFT_INK, lw=0.6)
        above = f"resolved above {100 * threshold:.0f} %"
        note(axis, above, (0, threshold), (4, 2), coordinates=BESIDE_DATA, ha="left")
    nyquist = {n for one in bars for n in one.nyquist}
    if len(nyquist) == 1:
        named_upright(axis, nyquist.pop(), "Nyquist of the file sent")
    axis.set(
        xscale="log",
        ylim=(0, 1.05),
        xlabel="Bars, line pairs per mm",
        ylabel=f"Contrast of the bars, {camera}",
    )
    finest = max((float(one.curve.x.max()) for one in bars), default=0.0)
    ticks = [f for f in (2, 3, 4, 5, 6, 8, 10, 12, 16, 20) if f <= 1.02 * finest]
    axis.set_xticks(ticks, [str(f) for f in ticks])
    axis.set_xticks([], minor=True)
    axis.yaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f} %")
    legend(axis, "upper right")
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
    named_upright(axis, finest, "ordinary eyesight")
