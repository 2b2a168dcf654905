"""The report page: a folder that opens from disk, without a network."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.compare.rank import Ranking
from dotloupe.errors import InputError
from dotloupe.report.detail_plots import USUAL_DISTANCE_MM
from dotloupe.report.differences import differences
from dotloupe.report.first_screen import first_screen
from dotloupe.report.picture_files import Pictures, write_pictures
from dotloupe.report.plot_files import DATA, PlotFile, write_plots
from dotloupe.report.provenance import parameters_of, sources_of
from dotloupe.report.settings import settings_of, viewing_distance_mm
from dotloupe.report.style import page_colours
from dotloupe.report.viewer import viewer_content
from dotloupe.report.weights import weights_sentences
from dotloupe.report.words import listed, named, sentence, shown
from dotloupe.writing import write_text

if TYPE_CHECKING:
    from jinja2 import Environment

SECTIONS = {
    "time": ("Over time", ""),
    "eyesight": ("From how far it can be seen", ""),
    "standing": (
        "Where each stands",
        "Marks are means of the prints, bars their 95 % intervals, thin strokes single prints.",
    ),
    "detail": ("Detail", "Bands and bars are 95 % intervals of the mean over the prints."),
    "readings": (
        "Three readings of detail",
        (
            "Edges, bars and an irregular texture tell of the same print independently; where "
            "they part, the print or the photograph treats some detail otherwise than the rest."
        ),
    ),
    "grain": ("Grain", ""),
    "head": ("Where the head put the ink", ""),
    "focus": (
        "Focus of the photographs",
        "Discs and figures: detail lost against the sharpest place of the photograph.",
    ),
}
"""Parts of the page: title, and what holds for all plots in it."""


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
    settings_of(result)
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        plots = write_plots(result, folder)
        pictures = write_pictures(result, folder)
        numbers = json.dumps(result.to_dict(), indent=1, ensure_ascii=False, allow_nan=False)
        write_text(folder / DATA / "result.json", numbers + "\n")
        page = folder / "index.html"
        write_text(page, page_text(result, plots, pictures))
    except OSError as error:
        raise InputError(
            f"{folder}: no report can be written there ({error.strerror}); choose another folder"
        ) from error
    return page


def page_text(result: Any, plots: Sequence[PlotFile], pictures: Pictures) -> str:
    """Return the page as HTML, its style and script within it."""
    environment = _environment()
    script = environment.get_template("viewer.js").render()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    settings = settings_of(result)
    distance_mm = viewing_distance_mm(result)
    sections = [
        (name, title, _lead(name, lead, result), [p for p in plots if p.section == name])
        for name, (title, lead) in SECTIONS.items()
    ]
    return environment.get_template("page.html").render(
        version=result.version,
        first=first_screen(result),
        settings=settings,
        sections=[section for section in sections if section[3]],
        pictures=pictures,
        viewer=viewer_content(settings, pictures, distance_mm or USUAL_DISTANCE_MM),
        light=page_colours(),
        dark=page_colours(dark=True),
        script=script,
        script_digest=digest,
        further=differences(result),
        distance_cm=None if distance_mm is None else f"{distance_mm / 10:g}",
        ranked=isinstance(result, Ranking),
        sources=sources_of(result),
        parameters=parameters_of(result),
        cautions=result.cautions,
        left_out=getattr(result, "left_out", ()),
    )


def _lead(section: str, lead: str, result: Any) -> str:
    """Return what stands above the plots of a section."""
    if section == "standing" and isinstance(result, Ranking):
        return " ".join((lead, *weights_sentences(result)))
    return lead


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    environment = Environment(
        loader=PackageLoader("dotloupe.report"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"shown": shown, "sentence": sentence, "listed": listed, "named": named}
    return environment
