"""The report page: a folder that opens from disk, without a network."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dotloupe.compare.ladder import Ladder
from dotloupe.compare.rank import CriterionRanking, Place, Ranking
from dotloupe.errors import InputError
from dotloupe.report.picture_files import Pictures, write_pictures
from dotloupe.report.plot_files import DATA, PlotFile, write_plots
from dotloupe.report.rounding import interval_text, value_text
from dotloupe.report.settings import Setting, settings_of, viewing_distance_mm
from dotloupe.report.verdict import OVERALL, Verdict, ladder_verdict, ranking_verdict
from dotloupe.report.words import BETTER, counted, element_name, listed, phrase, sentence, shown

TEMPLATES = "dotloupe.report", "templates"


def write_report(result: Any, folder: str | Path) -> Path:
    """Write a report of a ranking, a ladder or a trend.

    Parameters
    ----------
    result : Ranking, Ladder or Trend
    folder : str or Path
        Made where it is missing; files of an earlier report in it are written over.

    Returns
    -------
    Path
        The page, to be opened in a browser.

    Raises
    ------
    InputError
        The result is none of these, or the folder cannot be written.
    """
    settings = settings_of(result)
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        plots = write_plots(result, folder)
        pictures = write_pictures(result, folder)
        numbers = json.dumps(result.to_dict(), indent=1, ensure_ascii=False, allow_nan=False)
        (folder / DATA / "result.json").write_text(numbers + "\n", encoding="utf-8")
        page = folder / "index.html"
        page.write_text(_page(result, settings, plots, pictures), encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{folder}: no report can be written there ({error.strerror}); choose another folder"
        ) from error
    return page


@dataclass(frozen=True)
class Cell:
    """One number of the first table; its interval in per cent of all settings' span."""

    value: str
    interval: str
    place: int
    tied: str
    start: float
    end: float
    at: float


@dataclass(frozen=True)
class Row:
    """One setting of the first table."""

    setting: Setting
    prints: str
    place: str
    cells: tuple[Cell | None, ...]


def _page(
    result: Any, settings: Sequence[Setting], plots: Sequence[PlotFile], pictures: Pictures
) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader(*TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"shown": shown, "sentence": sentence, "listed": listed}
    verdict = _verdict(result)
    return environment.get_template("page.html").render(
        result=result,
        verdict=verdict,
        settings=settings,
        columns=_columns(result),
        rows=_rows(result, settings),
        better=BETTER,
        plots=plots,
        pictures=pictures,
        viewer=_viewer(settings, pictures),
        distance_cm=viewing_distance_mm(result) / 10,
        captures=[(s, m) for s in settings for m in s.measurements],
    )


def _verdict(result: Any) -> Verdict:
    return ladder_verdict(result) if isinstance(result, Ladder) else ranking_verdict(result)


def _columns(result: Any) -> list[tuple[str, str, str, str]]:
    """Name, short title, unit and better direction of each column of the first table."""
    if isinstance(result, Ranking):
        found: Sequence[Any] = sorted(
            (c for c in result.criteria.values() if c.places), key=lambda c: c.name != OVERALL
        )
    else:
        found = list(result.climbs.values())
    return [(c.name, sentence(phrase(c.name, c.title)), c.unit, c.better) for c in found]


def _rows(result: Any, settings: Sequence[Setting]) -> list[Row]:
    columns = [name for name, *_ in _columns(result)]
    if isinstance(result, Ranking):
        cells = {name: _ranking_cells(result.criteria[name]) for name in columns}
        order = [p.setting for p in result.criteria[OVERALL].places]
        standing = sorted(
            settings, key=lambda s: order.index(s.name) if s.name in order else len(order)
        )
    else:
        cells = {name: _climb_cells(result.climbs[name]) for name in columns}
        standing = list(settings)
    rows = []
    for s in standing:
        own = tuple(cells[name].get(s.name) for name in columns)
        lead = own[0] if own else None
        place = str(lead.place) if lead is not None and lead.place else ""
        rows.append(Row(s, counted(len(s.prints()), "print"), place, own))
    return rows


def _ranking_cells(criterion: CriterionRanking) -> dict[str, Cell]:
    low = min(p.low for p in criterion.places)
    high = max(p.high for p in criterion.places)
    return {
        p.setting: _cell(p, low, high, p.place, listed(map(shown, p.tied_with)))
        for p in criterion.places
    }


def _climb_cells(climb: Any) -> dict[str, Cell]:
    low, high = min(r.low for r in climb.rungs), max(r.high for r in climb.rungs)
    return {f"{r.sent_ppi:g} ppi": _cell(r, low, high, 0, "") for r in climb.rungs}


def _cell(number: Place | Any, low: float, high: float, place: int, tied: str) -> Cell:
    span = (high - low) or 1.0
    start, end, at = (
        round(100 * (v - low) / span, 1) if abs(v) < float("inf") else 0.0
        for v in (number.low, number.high, number.value)
    )
    return Cell(
        value_text(number.value, number.low, number.high),
        interval_text(number.value, number.low, number.high),
        place,
        tied,
        start,
        end,
        at,
    )


def _viewer(settings: Sequence[Setting], pictures: Pictures) -> dict[str, Any]:
    """Everything that the comparison viewer needs, as plain values."""
    return {
        "size": pictures.size_mm,
        "elements": [
            {
                "name": sentence(element_name(r)),
                "kind": r.kind,
                "box": [round(v, 3) for v in (r.x_mm, r.y_mm, r.width_mm, r.height_mm)],
            }
            for r in pictures.regions
        ],
        "settings": [
            {
                "name": shown(s.name),
                "colour": s.index % 8 + 1,
                "prints": [
                    {
                        "name": shown(p.label),
                        "layers": [
                            {
                                "path": layer.path,
                                "box": [
                                    layer.box.x_mm,
                                    layer.box.y_mm,
                                    layer.box.width_mm,
                                    layer.box.height_mm,
                                ],
                                "scale": layer.pixels_per_mm,
                            }
                            for layer in (p.whole, *p.close.values())
                        ],
                    }
                    for p in pictures.by_setting[s.name]
                ],
            }
            for s in settings
            if pictures.by_setting[s.name]
        ],
    }
