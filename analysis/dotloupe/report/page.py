"""The report page: a folder that opens from disk, without a network."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError
from dotloupe.number import CRITERIA
from dotloupe.report.circumstances import Circumstances
from dotloupe.report.crops import Pictures, viewer_content, write_pictures
from dotloupe.report.json_values import (
    JsonObject,
    effects_json,
    head_json,
    ladder_json,
    ranking_json,
    repeat_json,
    trend_json,
)
from dotloupe.report.model import (
    EffectsModel,
    HistoryModel,
    LadderModel,
    RankingModel,
    RepeatModel,
    ReportModel,
    Result,
    report_model,
)
from dotloupe.report.no_folders import without_folders
from dotloupe.report.plots import (
    DATA,
    SIZE_PX,
    SUMMARY_PICTURE,
    Plot,
    PlotFile,
    all_readings,
    colour_number,
    effects_plots,
    history_plots,
    ladder_plots,
    page_colours,
    ranking_plots,
    repeat_plots,
    write_drawings,
)
from dotloupe.report.text import (
    HEADINGS,
    Differences,
    FirstScreen,
    Sources,
    capture_sources,
    caution_text,
    caution_texts,
    circumstances_rows,
    comparison_parameters,
    differences,
    effects_screen,
    history_parameters,
    history_screen,
    history_sources,
    ladder_screen,
    listed,
    markdown_table,
    method,
    named,
    notes,
    ranking_screen,
    repeat_screen,
    section_lead,
    sentence,
    shown,
)
from dotloupe.storage import cache, write_text

if TYPE_CHECKING:
    from jinja2 import Environment

    from dotloupe.measure import Parting
    from dotloupe.number import Measurand

PAGE, SHORT_PAGE = "index.html", "short.html"
TABLE = f"{DATA}/table.md"
ANSWERS = ("time", "effects", "repeats", "standing")
"""Sections that answer what a ladder or a history is asked: before the pictures."""


@dataclass(frozen=True)
class Contents:
    """What a report holds beside the pictures.

    Attributes
    ----------
    model : ReportModel
    numbers : dict
        Plain values for the JSON file.
    first : FirstScreen
    plots : iterable of Plot
    partings : tuple of Parting
        How the readings of detail compare, for every setting and direction.
    sources : Sources
    parameters : list of (str, str)
    further : Differences or None
        What else differs between two settings.
    answers : tuple of str
        Sections that stand before the pictures.
    """

    model: ReportModel
    numbers: JsonObject
    first: FirstScreen
    plots: Iterable[Plot]
    partings: tuple[Parting, ...]
    sources: Sources
    parameters: list[tuple[str, str]]
    further: Differences | None = None
    answers: tuple[str, ...] = ANSWERS


def write_report(
    result: Result, folder: str | Path, *, circumstances: Circumstances | None = None
) -> Path:
    """Write a report of a ranking, a ladder, a printer's history or effects.

    Parameters
    ----------
    result : Ranking, Ladder, Trend, HeadVerdict, Effects or Repeatability
    folder : str or Path
        Made where it is missing; files of an earlier report in it are written over.
    circumstances : Circumstances, optional
        Title, note and what is named of printer and paper.

    Returns
    -------
    Path
        The page, to be opened in a browser.

    Raises
    ------
    InputError
        The result is none of these, or the folder cannot be written.
    """
    photographed = report_model(result).settings
    contents = _contents(without_folders(result))
    given = circumstances or Circumstances()
    rows = circumstances_rows(given, contents.model)
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        pictures = write_pictures(
            photographed, folder, _decided_by(contents.model), contents.model.difference_places
        )
        plots = write_drawings(contents.plots, contents.first, contents.model.settings, folder)
        told = {**contents.numbers, "title": given.title, "circumstances": rows}
        numbers = json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False)
        write_text(folder / DATA / "result.json", numbers + "\n")
        write_text(folder / TABLE, markdown_table(contents.first))
        page = folder / PAGE
        text, short = _pages(contents, plots, pictures, (given.title, rows))
        write_text(page, text)
        write_text(folder / SHORT_PAGE, short)
        cache.evict()
    except OSError as error:
        raise InputError(
            f"{folder}: no report can be written there ({error.strerror}); choose another folder"
        ) from error
    return page


def _decided_by(model: ReportModel) -> list[Measurand]:
    """What one setting of a ranking is ahead of all others in."""
    if not isinstance(model, RankingModel):
        return []
    leading = {
        c.name for c in model.ranking.criteria.values() if c.places and not c.places[0].tied_with
    }
    return [c.measurand for name, c in CRITERIA.items() if name in leading]


def _contents(result: Result) -> Contents:
    model = report_model(result)
    if isinstance(model, HistoryModel):
        numbers = trend_json(model.trends[0]) if model.head is None else head_json(model.head)
        screen, plots = history_screen(model), history_plots(model)
        sources = history_sources(model.trends)
        return Contents(model, numbers, screen, plots, (), sources, history_parameters(model))
    sources = capture_sources(model)
    if isinstance(model, RepeatModel):
        numbers = repeat_json(model.repeatability)
        return Contents(model, numbers, repeat_screen(model), repeat_plots(model), (), sources, [])
    readings = all_readings(model)
    partings = tuple(p for r in readings if (p := r.parting) is not None)
    match model:
        case RankingModel(ranking=ranking):
            parameters = comparison_parameters(ranking.parameters)
            numbers, screen = ranking_json(ranking), ranking_screen(model)
            plots = ranking_plots(model, readings)
        case LadderModel(ladder=ladder):
            parameters = comparison_parameters(ladder.parameters)
            numbers, screen = ladder_json(ladder), ladder_screen(model)
            plots = ladder_plots(model, readings)
        case EffectsModel(effects=effects):
            parameters = comparison_parameters(effects.parameters)
            numbers, screen = effects_json(effects), effects_screen(model)
            plots = effects_plots(model, readings)
    contents = Contents(model, numbers, screen, plots, partings, sources, parameters)
    if isinstance(model, RankingModel):
        return replace(contents, further=differences(model.ranking), answers=())
    return contents


def _pages(
    contents: Contents,
    plots: Sequence[PlotFile],
    pictures: Pictures,
    told: tuple[str, dict[str, str]],
) -> tuple[str, str]:
    """Return the page and the short page as HTML, style and script within them."""
    environment = _environment()
    script = environment.get_template("viewer.js").render()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    model = contents.model
    sections = [
        (name, title, section_lead(name, model, contents.partings), shown_here)
        for name, title in HEADINGS.items()
        if (shown_here := [p for p in plots if p.section == name])
    ]
    answer = [s for s in sections if s[0] in contents.answers]
    content = {
        "version": model.version,
        "title": told[0],
        "circumstances": told[1],
        "first": contents.first,
        "settings": model.settings,
        "answer": answer,
        "sections": [s for s in sections if s[0] not in contents.answers],
        "pictures": pictures,
        "viewer": viewer_content(model.settings, pictures, model.looked_at_from_mm),
        "light": page_colours(),
        "dark": page_colours(dark=True),
        "script": script,
        "script_digest": digest,
        "further": contents.further,
        "method": method(model),
        "sources": contents.sources,
        "parameters": contents.parameters,
        "cautions": caution_texts(notes(model.cautions)),
        "left_out": model.left_out,
        "table": TABLE,
        "short_page": SHORT_PAGE,
        "whole_page": PAGE,
        "summary_picture": SUMMARY_PICTURE,
        "summary_size": SIZE_PX,
        "description": shown(
            " ".join((contents.first.verdict.notice, *contents.first.verdict.sentences))
        ),
    }
    first_plot = next(
        ((name, title, lead, drawn[:1]) for name, title, lead, drawn in answer or sections), None
    )
    close_up = dict(list(pictures.places.items())[:1])
    brief = {**content, "pictures": replace(pictures, places=close_up)}
    return (
        environment.get_template("page.html").render(content),
        environment.get_template("short.html").render(
            brief, sections=[] if first_plot is None else [first_plot]
        ),
    )


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    environment = Environment(
        loader=PackageLoader("dotloupe.report"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "shown": shown,
        "sentence": sentence,
        "listed": listed,
        "words": caution_text,
        "named": named,
        "colour_number": colour_number,
    }
    return environment
