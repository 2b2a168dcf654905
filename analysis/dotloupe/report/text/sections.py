"""Headings of the report page, and the words above the plots of each section."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from dotloupe.report.model import RankingModel
from dotloupe.report.text.phrases import camera_cost_text
from dotloupe.report.text.readings import disagreement_sentence
from dotloupe.report.text.weights import weights_sentences

if TYPE_CHECKING:
    from dotloupe.measure import Parting
    from dotloupe.report.model import ReportModel

HEADINGS = {
    "time": "Over time",
    "effects": "What each choice changes",
    "repeats": "Set-up against printer",
    "eyesight": "From how far can it be seen?",
    "standing": "Criterion by criterion",
    "detail": "Detail",
    "contrast": "Faint detail",
    "readings": "Three readings of detail",
    "grain": "Grain",
    "head": "Where the ink landed",
    "focus": "Focus of the photographs",
}
"""Sections of the page in their order."""

EYESIGHT = (
    "Each bar ends where a keen eye would lose the difference measured. Its full colour ends at "
    "the lower end of the 95 % interval, its thin line at the upper end. An arrow at the left: by "
    "the lower end, nothing is visible. Tone, colour and sharpness compare the whole patch."
)
EFFECTS = (
    "Parallel lines: the choices do not depend on each other. Marks are means of the prints, thin "
    "strokes single prints. Beside them stands every difference with its 95 % interval; its mark "
    "is filled where the interval leaves out zero. Diamonds: by how much the effect of one choice "
    "differs between two levels of another."
)
MARKS = {
    "settings": (
        "Marks are means of the prints, bars their 95 % intervals, thin strokes single prints."
    ),
    "prints": "Marks are the prints, one of each, bars the 95 % intervals of their measurement.",
}
BANDS_OF = {"settings": "the mean over the prints", "prints": "one print's measurement"}
READINGS = (
    "Edges, bars and an irregular texture measure the same print independently. Where they "
    "disagree, the print or the photograph treats some detail differently from the rest."
)
ERROR_OF_READINGS = (
    "The figures are contrast kept. Their 95 % intervals are as wide as those at single "
    "frequencies, because the errors go together."
)
CONTRAST = (
    "Gratings from 4 to 80 % of contrast, about a light, a middle and a dark tone. Detail that is "
    "faint goes first: grass, cloth, a fence far off. A cross stands for a grating that the file "
    "could not carry."
)
HEAD = (
    "The lens's own colour fringing cancels here: ink and black are read in one colour channel, in "
    "mirror order. A little may remain that depends on the place in the frame. Before an "
    "alignment, photograph the patch again in another part of the frame: what stays is the "
    "printer's."
)
FOCUS = (
    "Discs and figures show the detail lost against the sharpest place of the photograph. Where "
    "they are even, the sheet lay flat and parallel to the sensor."
)


def section_lead(section: str, model: ReportModel, partings: Sequence[Parting]) -> str:
    """Return the words above the plots of a section; "" for none.

    Parameters
    ----------
    section : str
        A key of `HEADINGS`.
    model : ReportModel
    partings : sequence of Parting
        How the readings of detail compare, for every setting and direction.
    """
    match section:
        case "standing":
            weights = weights_sentences(model.ranking) if isinstance(model, RankingModel) else ()
            return " ".join((MARKS[model.scope], *weights))
        case "detail":
            return _detail_lead(model)
        case "readings":
            parts = (READINGS, disagreement_sentence(partings), ERROR_OF_READINGS)
            return " ".join(filter(None, parts))
    leads = {
        "effects": EFFECTS,
        "eyesight": EYESIGHT,
        "contrast": CONTRAST,
        "head": HEAD,
        "focus": FOCUS,
    }
    return leads.get(section, "")


def _detail_lead(model: ReportModel) -> str:
    costs = [m.camera_cost_percent for s in model.settings for m in s.measurements]
    known = [cost for cost in costs if cost is not None]
    of_camera = f" {camera_cost_text(max(known))}." if known and len(known) == len(costs) else ""
    return (
        f"Bands and bars are 95 % intervals of {BANDS_OF[model.scope]}. The dotted line across the "
        "curves of edges is where ordinary eyesight ends, at 30 cycles per degree. A keen eye "
        "follows strong contrast to 50 or 60." + of_camera
    )
