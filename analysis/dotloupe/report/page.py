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
    write_plots,
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
    interval_meaning,
    ladder_screen,
    listed,
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
        plots = write_plots(contents.plots, contents.model.settings, folder)
        pictures = write_pictures(photographed, folder)
        told = {**contents.numbers, "title": given.title, "circumstances": rows}
        numbers = json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False)
        write_text(folder / DATA / "result.json", numbers + "\n")
        page = folder / "index.html"
        write_text(page, _page_text(contents, plots, pictures, (given.title, rows)))
        cache.evict()
    except OSError as error:
        raise InputError(
            f"{folder}: no report can be written there ({error.strerror}); choose another folder"
        ) from error
    return page


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


def _page_text(
    contents: Contents,
    plots: Sequence[PlotFile],
    pictures: Pictures,
    told: tuple[str, dict[str, str]],
) -> str:
    """Return the page as HTML, its style and script within it."""
    environment = _environment()
    script = environment.get_template("viewer.js").render()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    model = contents.model
    sections = [
        (name, title, section_lead(name, model, contents.partings), shown_here)
        for name, title in HEADINGS.items()
        if (shown_here := [p for p in plots if p.section == name])
    ]
    distance_mm = model.viewing_distance_mm
    return environment.get_template("page.html").render(
        version=model.version,
        title=told[0],
        circumstances=told[1],
        first=contents.first,
        settings=model.settings,
        answer=[s for s in sections if s[0] in contents.answers],
        sections=[s for s in sections if s[0] not in contents.answers],
        pictures=pictures,
        viewer=viewer_content(model.settings, pictures, model.looked_at_from_mm),
        light=page_colours(),
        dark=page_colours(dark=True),
        script=script,
        script_digest=digest,
        further=contents.further,
        distance_cm=None if distance_mm is None else f"{distance_mm / 10:g}",
        ranked=isinstance(model, RankingModel),
        interval_meaning=interval_meaning(model.scope),
        sources=contents.sources,
        parameters=contents.parameters,
        cautions=caution_texts(notes(model.cautions)),
        left_out=model.left_out,
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
