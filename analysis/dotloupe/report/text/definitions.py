"""How the numbers of a page were measured, in words: only of those that it holds."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from dotloupe.measurement import PatchMeasurement, PictureMeasurement
from dotloupe.number import Quantity
from dotloupe.report.model import HistoryModel, RankingModel

if TYPE_CHECKING:
    from dotloupe.compare import Scope
    from dotloupe.measurement import Measurement
    from dotloupe.report.model import ReportModel

DEFINITIONS = {
    Quantity.DETAIL: (
        "The frequency, in cycles/mm on the print, at which a slanted edge keeps half of its "
        "contrast (MTF50)."
    ),
    Quantity.LINE_PAIRS: (
        "The finest bars that print in the number and place drawn, with a contrast of 10 % or more."
    ),
    Quantity.FAINT_DETAIL: (
        "The frequency up to which gratings of 10 % contrast stand out from the grain and keep a "
        "tenth of what was sent."
    ),
    Quantity.COLOUR_DETAIL: (
        "The same for gratings in colours of nearly equal lightness; the ink whose gratings "
        "vanish first counts."
    ),
    Quantity.PICTURE_KEPT: (
        "The frequency up to which at least half of what is printed follows the picture "
        "(coherence)."
    ),
    Quantity.RESPONSE: "The frequency at which the print has half of the contrast that was sent.",
    Quantity.HALO: (
        "How far the print overshoots beside edges, beyond what the picture does, in per cent of "
        "the step."
    ),
    Quantity.UNRELATED: (
        "Structure on the print that does not follow the picture and exceeds the print's grain."
    ),
}
TERMS = {
    Quantity.DETAIL: "Detail",
    Quantity.LINE_PAIRS: "Line pairs",
    Quantity.FAINT_DETAIL: "Faint detail",
    Quantity.COLOUR_DETAIL: "Colour detail",
    Quantity.PICTURE_KEPT: "Detail kept",
    Quantity.RESPONSE: "Response",
    Quantity.HALO: "Halo",
    Quantity.UNRELATED: "Foreign structure",
}
"""What each quantity is called on a page, and what it means; in the order of the page."""


class Method(NamedTuple):
    """How it was measured: what was photographed, and the terms of the page."""

    lead: str
    terms: tuple[tuple[str, str], ...]


def method(model: ReportModel) -> Method:
    """Say what was photographed and what the terms of this page mean."""
    shots = [m for s in model.settings for m in s.measurements]
    quantities = {
        n.measurand.quantity for m in shots for n in m.numbers.values() if n.measurand is not None
    }
    if isinstance(model, HistoryModel):
        quantities = {Quantity.DETAIL, Quantity.LINE_PAIRS, Quantity.GRAIN}
    terms = [(TERMS[q], meaning) for q, meaning in DEFINITIONS.items() if q in quantities]
    if Quantity.GRAIN in quantities:
        terms.append(("Visible grain", _visible_grain(model.viewing_distance_mm)))
    if isinstance(model, RankingModel) and model.ranking.overall is not None:
        steps = (
            "Sharpness and grain in units of the smallest difference that is noticed; the weights "
            "are "
            "listed below."
        )
        terms.append(("Visible steps", steps))
    terms.append(("95 % interval", _interval_meaning(model.scope)))
    across = (
        "x runs along the travel of the head, y along the feed of the paper. A number along x "
        "comes from edges and bars that run along y."
    )
    return Method(_lead(shots), (*terms, ("x and y", across)))


def _lead(shots: list[Measurement]) -> str:
    contrast = any(isinstance(m, PatchMeasurement) and m.contrast for m in shots)
    picture = any(isinstance(m, PictureMeasurement) for m in shots)
    edges = not shots or any(isinstance(m, PatchMeasurement) and not m.contrast for m in shots)
    carried = " or ".join(
        words
        for words, there in (
            ("slanted edges, bars and tints", edges),
            ("gratings of many contrasts", contrast),
            ("the picture sent", picture),
        )
        if there
    )
    how = (
        "aligned to what was sent by its corner marks or its content"
        if picture
        else "aligned to the patch by its corner marks"
    )
    return (
        f"Each print carries {carried}. Its photograph was converted to linear reflectance "
        "relative "
        f"to the paper. It was {how}, and measured on its own pixels."
    )


def _visible_grain(distance_mm: float | None) -> str:
    seen_from = "" if distance_mm is None else f" from {distance_mm / 10:g} cm"
    return f"Root-mean-square variation of lightness in even tints, as an eye sees it{seen_from}."


def _interval_meaning(scope: Scope) -> str:
    """Say what a 95 % interval is meant to contain."""
    repeats = "The print is what repeats: several photographs of one print count once."
    cut = "It stops at zero where a negative value is impossible."
    if scope == "prints":
        meant = (
            "Made so that in 95 of 100 cases it contains the value of the one print that was "
            "photographed. It says nothing about other prints of the setting."
        )
    else:
        meant = (
            "Made so that in 95 of 100 cases it contains the setting's long-run mean; a single "
            "further print may well lie outside."
        )
    return f"{meant} {repeats} {cut}"
