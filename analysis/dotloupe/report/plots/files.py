"""The plots of a report: which ones a result has, their files and the data behind them."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.compare.history import Trend
from dotloupe.compare.ladder import Ladder
from dotloupe.compare.ranking import Ranking
from dotloupe.report.plots import csv_rows as data
from dotloupe.report.plots.curves import middle_tint
from dotloupe.report.plots.detail import detail_drawing, line_pairs_drawing
from dotloupe.report.plots.eyesight import eyesight_drawing
from dotloupe.report.plots.focus import focus_drawing, focus_of
from dotloupe.report.plots.grain import noise_drawing, tint_grain_drawing
from dotloupe.report.plots.head import placement_drawing, placement_reading
from dotloupe.report.plots.readings import parting_sentence, readings_drawing, readings_of
from dotloupe.report.plots.standing import criterion_drawing, ladder_drawing
from dotloupe.report.plots.style import drawing, svg_text
from dotloupe.report.plots.svg import inlined
from dotloupe.report.plots.trend import plot_trend
from dotloupe.report.settings import settings_of
from dotloupe.report.text import OVERALL, short
from dotloupe.storage import cache as kept
from dotloupe.storage import write_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PLOTS, DATA = "plots", "data"
COLUMN_IN = 6.4
"""Width of a plot that stands in one of two columns."""


@dataclass(frozen=True)
class Planned:
    """A plot that a result has.

    Attributes
    ----------
    name : str
        Of its files, without ending.
    section : str
        Part of the page that it stands in.
    title, reading : str
        What it shows, and in one line what to read off it.
    draw : partial
        Takes an axis and draws on it nothing but what it holds, by which it is kept.
    rows : iterable of dict
        The data behind it, one row a value.
    size_in : (float, float)
    """

    name: str
    section: str
    title: str
    reading: str
    draw: partial[Axes]
    rows: Iterable[dict[str, Any]]
    size_in: tuple[float, float] = (COLUMN_IN, 3.6)


@dataclass(frozen=True)
class PlotFile:
    """A plot of a report as written: drawing for the page, and its files within the folder."""

    section: str
    title: str
    reading: str
    svg: str
    svg_path: str
    csv_path: str
    size: str


def planned_plots(result: Any) -> Iterator[Planned]:
    """Every plot that the result holds data for."""
    if isinstance(result, Trend):
        yield from _trend_plots(result)
        return
    if isinstance(result, Ladder):
        yield from _ladder_plots(result)
    if isinstance(result, Ranking):
        yield from _criterion_plots(result)
    yield from _detail_plots(result)
    yield from _reading_plots(result)
    yield from _grain_plots(result)
    yield from _focus_plots(result)
    yield Planned(
        "placement",
        "head",
        "Inks against black",
        placement_reading(result),
        placement_drawing(result),
        data.placement_rows(settings_of(result)),
    )


def write_plots(result: Any, folder: Path) -> list[PlotFile]:
    """Write every plot as SVG with its data as CSV beside it."""
    (folder / PLOTS).mkdir(exist_ok=True)
    (folder / DATA).mkdir(exist_ok=True)
    rows = list(data.number_rows(settings_of(result)))
    if rows:
        _write_csv(folder / DATA / "numbers.csv", rows)
    written = []
    for number, plan in enumerate(planned_plots(result), start=1):
        rows = list(plan.rows)
        if not rows:
            continue
        svg_path, csv_path = f"{PLOTS}/{plan.name}.svg", f"{DATA}/{plan.name}.csv"
        svg = _drawn(plan)
        write_text(folder / svg_path, svg)
        _write_csv(folder / csv_path, rows)
        title = " ".join(
            filter(None, (f"{plan.title}.", plan.reading, f"The data are in {csv_path}."))
        )
        inline = inlined(svg, f"p{number}", title)
        written.append(
            PlotFile(
                section=plan.section,
                title=plan.title,
                reading=plan.reading,
                svg=inline,
                svg_path=svg_path,
                csv_path=csv_path,
                size=_size(plan.size_in[0]),
            )
        )
    return written


def _drawn(plan: Planned) -> str:
    """Draw a plot as SVG, or take the one that was kept of the very same."""
    name = kept.name_of(
        "plot",
        plan.draw.func.__module__,
        plan.draw.func.__qualname__,
        plan.draw.args,
        plan.draw.keywords,
        plan.size_in,
        kept.library_version("matplotlib"),
    )
    found = kept.recall(name)
    if found is not None:
        return found.decode()
    with drawing(*plan.size_in) as (figure, axis):
        plan.draw(axis)
        svg = svg_text(figure)
    kept.keep(name, svg.encode())
    return svg


def _size(width_in: float) -> str:
    """Return the name that the page's style has for a width."""
    if width_in > COLUMN_IN:
        return "wide"
    return "small" if width_in < COLUMN_IN else "usual"


def _ladder_plots(ladder: Ladder) -> Iterator[Planned]:
    order = sorted(ladder.climbs, key=lambda name: name != ladder.criterion)
    for name in order:
        climb = ladder.climbs[name]
        yield Planned(
            f"ladder_{name}",
            "standing",
            f"{climb.title} against the ppi sent",
            "Where the curve turns level, more pixels add nothing; a mark whose interval clears "
            "the curve would be a special value."
            if climb.better == "higher"
            else "A level row says that the ppi sent does not change it.",
            ladder_drawing(ladder, name),
            data.ladder_rows(climb),
        )


def _trend_plots(trend: Trend) -> Iterator[Planned]:
    yield Planned(
        "trend",
        "time",
        f"{trend.title} over time",
        "A print that leaves the band has changed by more than such prints do by chance.",
        partial(plot_trend, trend),
        data.trend_rows(trend),
        (9.0, 3.8),
    )


def _criterion_plots(ranking: Ranking) -> Iterator[Planned]:
    pairs = ranking.visibility
    bars = sum(len(p.by) + (p.picture is not None and p.picture.repeats_known) for p in pairs)
    if bars:
        yield Planned(
            "eyesight",
            "eyesight",
            f"Told apart from {short(pairs[0].setting)} by eye",
            "Seen from the dotted line is what reaches it in full colour; unseen what does not "
            "reach it even by its thin line; all else is not settled.",
            eyesight_drawing(ranking),
            data.eyesight_rows(pairs),
            (COLUMN_IN, 0.8 + 0.36 * bars),
        )
    order = sorted(ranking.criteria.values(), key=lambda c: c.name != OVERALL)
    for criterion in (c for c in order if c.places):
        name = criterion.name
        side = "right" if criterion.better == "higher" else "left"
        height = 0.9 + 0.34 * len(criterion.places)
        yield Planned(
            f"standing_{name}",
            "standing",
            criterion.title,
            f"Farther {side} is better; a bracket joins what the prints do not tell apart.",
            criterion_drawing(ranking, name),
            data.criterion_rows(criterion),
            (COLUMN_IN, height),
        )


def _detail_plots(result: Any) -> Iterator[Planned]:
    settings = settings_of(result)
    edges = (("", ""), ("dark_", ", in dark tones"))
    for axis_name in ("x", "y"):
        for tone, where in edges:
            name = f"detail_{tone}{axis_name}"
            yield Planned(
                name,
                "detail",
                f"Detail along {axis_name}{where}",
                "The farther right a curve stays high, the finer the detail it holds.",
                detail_drawing(result, name),
                data.detail_rows(settings, name),
            )
    for axis_name in ("x", "y"):
        yield Planned(
            f"line_pairs_{axis_name}",
            "detail",
            f"Bars along {axis_name}",
            "Filled marks are bars that every print resolves; where the curve dives under the "
            "line, bars melt into grey.",
            line_pairs_drawing(result, axis_name),
            data.bars_rows(settings, axis_name),
        )


def _reading_plots(result: Any) -> Iterator[Planned]:
    for setting in settings_of(result):
        for direction in ("x", "y"):
            curves = readings_of(setting, direction)
            if len(curves) < 2:
                continue
            yield Planned(
                f"readings_{setting.index + 1}_{direction}",
                "readings",
                f"{setting.label}, along {direction}",
                parting_sentence(curves),
                readings_drawing(setting, curves),
                data.reading_rows(setting, curves),
            )


def _where_differences(result: Any) -> str:
    """Return where the page has the differences of tints, which it has of two settings."""
    two = isinstance(result, Ranking) and len(result.settings) == 2
    return ", under “What else differs”" if two else ", not by bars that overlap"


def _grain_plots(result: Any) -> Iterator[Planned]:
    settings = settings_of(result)
    yield Planned(
        "grain_tints",
        "grain",
        "Visible grain by tint",
        "Lower is smoother. Each bar is the 95 % interval of one setting's mean; whether two "
        f"settings differ is told by the interval of their difference{_where_differences(result)}.",
        tint_grain_drawing(result),
        data.tint_rows(settings),
    )
    tint = middle_tint(settings)
    if tint is not None:
        yield Planned(
            "grain_spectrum",
            "grain",
            "Grain by coarseness",
            "Height within the grey band is grain that is seen best; to its right grain is seen "
            "less and less. A narrow peak is a regular pattern.",
            noise_drawing(result, tint),
            data.noise_rows(settings, tint),
        )


def _focus_plots(result: Any) -> Iterator[Planned]:
    for setting in settings_of(result):
        for number, m in enumerate(setting.measurements, start=1):
            if focus_of(m) is None:
                continue
            yield Planned(
                f"focus_{setting.index + 1}_{number}",
                "focus",
                f"{setting.label}, {short(m.print_id)}",
                "",
                focus_drawing(m),
                data.focus_rows(setting, m),
                (4.2, 3.0),
            )


def _write_csv(path: Path, rows: Sequence[dict[str, Any]]) -> None:
    text = StringIO(newline="")
    writer = csv.DictWriter(text, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    write_text(path, text.getvalue())
