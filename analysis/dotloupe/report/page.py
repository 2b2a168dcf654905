"""The report page: a folder that opens from disk, without a network."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.compare.ranking import Ranking
from dotloupe.errors import InputError
from dotloupe.report.crops import Pictures, viewer_content, write_pictures
from dotloupe.report.json_values import ranking_json
from dotloupe.report.plots import DATA, PlotFile, page_colours, partings_sentence, write_plots
from dotloupe.report.provenance import parameters_of, sources_of
from dotloupe.report.settings import looked_at_from_mm, settings_of, viewing_distance_mm
from dotloupe.report.text import (
    differences,
    first_screen,
    listed,
    named,
    sentence,
    shown,
    weights_sentences,
)
from dotloupe.storage import cache as kept
from dotloupe.storage import write_text

if TYPE_CHECKING:
    from jinja2 import Environment

SECTIONS = {
    "time": ("Over time", ""),
    "eyesight": (
        "From how far it can be seen",
        (
            "A bar ends where a keen eye would lose the difference measured. It has its full "
            "colour as far as the lower end of the 95 % interval, and a thin line goes to the "
            "upper end; an arrow at the left says that by the lower end nothing is seen at all. "
            "Prints laid on each other differ by tone, colour and sharpness, beyond their grain."
        ),
    ),
    "standing": (
        "Where each stands",
        "Marks are means of the prints, bars their 95 % intervals, thin strokes single prints.",
    ),
    "detail": (
        "Detail",
        (
            "Bands and bars are 95 % intervals of the mean over the prints. The dotted line across "
            "the curves of edges is where ordinary eyesight ends, at 30 cycles per degree; a keen "
            "eye follows strong contrast to 50 or 60."
        ),
    ),
    "readings": (
        "Three readings of detail",
        (
            "Edges, bars and an irregular texture tell of the same print independently; where "
            "they part, the print or the photograph treats some detail otherwise than the rest."
        ),
    ),
    "grain": ("Grain", ""),
    "head": (
        "Where the head put the ink",
        (
            "A lens that puts colours apart shifts ink and black alike here, as both are read in "
            "one colour channel and lie in mirror order; what it may leave goes by the place in "
            "the frame. To be sure before an alignment, photograph the patch again in another part "
            "of the frame: what stays is the printer's."
        ),
    ),
    "focus": (
        "Focus of the photographs",
        (
            "Discs and figures: detail lost against the sharpest place of the photograph. Even "
            "figures: the sheet lay flat and parallel to the sensor."
        ),
    ),
}
"""Parts of the page: title, and what holds for all plots in it."""

OF_SINGLE_PRINTS = {
    "standing": "Marks are the prints, one of each, bars the 95 % intervals of their measurement.",
    "detail": SECTIONS["detail"][1].replace("the mean over the prints", "one print's measurement"),
}
"""The same where no setting was printed twice."""

ANSWERS = ("time", "standing")
"""Parts that answer what a ladder or a history is asked: before anything there is to look at."""

ERROR_OF_READINGS = (
    "The figures are contrast kept, with 95 % intervals as wide as those of single frequencies, "
    "whose errors go together."
)


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
        numbers = json.dumps(_values(result), indent=1, ensure_ascii=False, allow_nan=False)
        write_text(folder / DATA / "result.json", numbers + "\n")
        page = folder / "index.html"
        write_text(page, page_text(result, plots, pictures))
        kept.clear_out()
    except OSError as error:
        raise InputError(
            f"{folder}: no report can be written there ({error.strerror}); choose another folder"
        ) from error
    return page


def _values(result: Any) -> dict[str, object]:
    return ranking_json(result) if isinstance(result, Ranking) else dict(result.to_dict())


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
    drawn = [section for section in sections if section[3]]
    ranked = isinstance(result, Ranking)
    return environment.get_template("page.html").render(
        version=result.version,
        first=first_screen(result),
        settings=settings,
        answer=[section for section in drawn if not ranked and section[0] in ANSWERS],
        sections=[section for section in drawn if ranked or section[0] not in ANSWERS],
        pictures=pictures,
        viewer=viewer_content(settings, pictures, looked_at_from_mm(result)),
        light=page_colours(),
        dark=page_colours(dark=True),
        script=script,
        script_digest=digest,
        further=differences(result),
        distance_cm=None if distance_mm is None else f"{distance_mm / 10:g}",
        ranked=ranked,
        interval_meaning=_interval_meaning(result),
        sources=sources_of(result),
        parameters=parameters_of(result),
        cautions=result.cautions,
        left_out=getattr(result, "left_out", ()),
    )


def _lead(section: str, lead: str, result: Any) -> str:
    """Return what stands above the plots of a section."""
    if isinstance(result, Ranking) and result.scope == "prints":
        lead = OF_SINGLE_PRINTS.get(section, lead)
    if section == "standing" and isinstance(result, Ranking):
        return " ".join((lead, *weights_sentences(result)))
    if section == "readings":
        return " ".join(filter(None, (lead, partings_sentence(result), ERROR_OF_READINGS)))
    return lead


def _interval_meaning(result: Any) -> str:
    """Say what an interval of 95 % is meant to hold."""
    if isinstance(result, Ranking) and result.scope == "prints":
        return (
            "Made so that in 95 of 100 cases it holds the value of the one print that was "
            "photographed; what other prints of the setting are like it does not say."
        )
    return (
        "Made so that in 95 of 100 cases it holds the mean that ever more prints of the setting "
        "would come to; a single further print may well lie outside."
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
    environment.filters |= {"shown": shown, "sentence": sentence, "listed": listed, "named": named}
    return environment
