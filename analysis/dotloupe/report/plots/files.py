"""The plots of a report: which ones a result has, and their files with the data behind them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.number import OVERALL, Measurand, Quantity
from dotloupe.report.plots.contrast import contrast_plots
from dotloupe.report.plots.csv_rows import number_rows
from dotloupe.report.plots.curves import middle_tint
from dotloupe.report.plots.detail import detail_plot, line_pairs_plot
from dotloupe.report.plots.effects import differences_plot, lines_plot
from dotloupe.report.plots.focus import focus_plots
from dotloupe.report.plots.grain import noise_plot, tint_grain_plot
from dotloupe.report.plots.head import placement_plot
from dotloupe.report.plots.kept import begin_drawings
from dotloupe.report.plots.places_and_ladder import criterion_plot, ladder_plot
from dotloupe.report.plots.plot import COLUMN_IN, Plot, draw_svg, plot_key
from dotloupe.report.plots.readings import readings_plot
from dotloupe.report.plots.repeats import repeat_plot
from dotloupe.report.plots.summary_picture import draw_summary, summary_key
from dotloupe.report.plots.svg import inlined
from dotloupe.report.plots.trend import trend_plot
from dotloupe.report.plots.viewing_distance import eyesight_plot
from dotloupe.report.text import leading_first
from dotloupe.storage import write_bytes, write_csv, write_text

if TYPE_CHECKING:
    from dotloupe.patch import Axis
    from dotloupe.report.model import (
        EffectsModel,
        HistoryModel,
        LadderModel,
        RankingModel,
        RepeatModel,
        ReportModel,
        Setting,
    )
    from dotloupe.report.plots.readings import SettingReadings
    from dotloupe.report.text import Caption, FirstScreen

PLOTS, DATA = "plots", "data"
SUMMARY_PICTURE = "summary.png"


@dataclass(frozen=True)
class PlotFile:
    """A plot of a report as written: drawing for the page, and its files within the folder."""

    section: str
    caption: Caption
    svg: str
    svg_path: str
    csv_path: str
    size: str


def ranking_plots(model: RankingModel, readings: Iterable[SettingReadings]) -> Iterator[Plot]:
    """Every plot of a ranking: visibility and places, then what the prints show."""
    eyesight = eyesight_plot(model)
    if eyesight is not None:
        yield eyesight
    order = sorted(model.ranking.criteria.values(), key=lambda c: c.name != OVERALL.name)
    yield from (criterion_plot(model, c.name) for c in order if c.places)
    yield from _print_plots(model, readings)


def ladder_plots(model: LadderModel, readings: Iterable[SettingReadings]) -> Iterator[Plot]:
    """Every plot of a ladder: its criteria against the ppi sent, then what the prints show."""
    ladder = model.ladder
    order = sorted(ladder.criteria, key=lambda name: name != ladder.criterion)
    yield from (ladder_plot(model, name) for name in order)
    yield from _print_plots(model, readings)


def effects_plots(model: EffectsModel, readings: Iterable[SettingReadings]) -> Iterator[Plot]:
    """Every plot of crossed factors: combinations and differences, then what the prints show."""
    for name in (c.name for c in leading_first(model.effects)):
        yield lines_plot(model, name)
        yield differences_plot(model, name)
    yield from _print_plots(model, readings)


def history_plots(model: HistoryModel) -> Iterator[Plot]:
    """A time line for each number, the worst first."""
    yield from (trend_plot(trend) for trend in model.trends)


def repeat_plots(model: RepeatModel) -> Iterator[Plot]:
    """What set-up and printer add to every number."""
    yield repeat_plot(model.repeatability)


def write_drawings(
    plots: Iterable[Plot], first: FirstScreen, settings: Iterable[Setting], folder: Path
) -> list[PlotFile]:
    """Write plots as SVG with their data as CSV beside them, every number, and the summary.

    Parameters
    ----------
    plots : iterable of Plot
        One without a row of data is left out.
    first : FirstScreen
        What the summary shows.
    settings : iterable of Setting
        Whose numbers are written.
    folder : Path

    Returns
    -------
    list of PlotFile
    """
    numbered = ((n, plot, list(plot.rows)) for n, plot in enumerate(plots, start=1))
    held = [(n, plot, rows) for n, plot, rows in numbered if rows]
    drawn = begin_drawings(
        [
            *((plot_key(p), partial(draw_svg, p.draw, p.size_in, p.within)) for _, p, _ in held),
            (summary_key(first), partial(draw_summary, first)),
        ]
    )
    (folder / PLOTS).mkdir(exist_ok=True)
    (folder / DATA).mkdir(exist_ok=True)
    numbers = list(number_rows(settings))
    if numbers:
        write_csv(folder / DATA / "numbers.csv", list(numbers[0]), numbers)
    written = []
    for number, plot, rows in held:
        svg = next(drawn).decode()
        svg_path, csv_path = f"{PLOTS}/{plot.name}.svg", f"{DATA}/{plot.name}.csv"
        write_text(folder / svg_path, svg)
        write_csv(folder / csv_path, list(rows[0]), rows)
        inline = inlined(svg, f"p{number}", plot.caption.alternative(csv_path))
        size = _size(plot.size_in[0])
        written.append(PlotFile(plot.section, plot.caption, inline, svg_path, csv_path, size))
    write_bytes(folder / SUMMARY_PICTURE, next(drawn))
    return written


def _print_plots(model: ReportModel, readings: Iterable[SettingReadings]) -> Iterator[Plot]:
    """Plots of what the prints show, whatever they are compared for."""
    axes: tuple[Axis, Axis] = ("x", "y")
    for axis, tone in product(axes, ("", "dark")):
        yield detail_plot(model, Measurand(Quantity.DETAIL, axis, tone))
    yield from (line_pairs_plot(model, axis) for axis in axes)
    yield from contrast_plots(model)
    yield from (readings_plot(found) for found in readings if len(found.curves) > 1)
    yield tint_grain_plot(model)
    tint = middle_tint(model.settings)
    if tint is not None:
        yield noise_plot(model, tint)
    for setting in model.settings:
        yield from focus_plots(setting)
    yield placement_plot(model)


def _size(width_in: float) -> str:
    """Return the name that the page's style has for a width."""
    if width_in > COLUMN_IN:
        return "wide"
    return "small" if width_in < COLUMN_IN else "usual"
