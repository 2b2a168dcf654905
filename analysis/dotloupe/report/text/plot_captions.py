"""Titles and captions of plots: what each shows, and in one line what to read off it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.compare.visibility import (
    OUT_OF_LINE_ARCSEC,
    Alignment,
    alignment,
    just_visible_um,
)
from dotloupe.report.model import RankingModel
from dotloupe.report.text.phrases import listed, quoted, sentence, short
from dotloupe.report.text.trend import STATES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import Interval
    from dotloupe.compare.effects import CriterionEffects
    from dotloupe.compare.history import Trend
    from dotloupe.compare.ladder import CriterionLadder
    from dotloupe.compare.ranking import CriterionRanking
    from dotloupe.number import Measurand
    from dotloupe.report.model import ReportModel

LAID_ON_EACH_OTHER = "tone, colour, sharpness"
MOST_NAMED = 3
"""So many inks out of line are named; more are counted."""


@dataclass(frozen=True)
class Caption:
    """Title of a plot, and what to read off it; `reading` may be empty."""

    title: str
    reading: str

    def alternative(self, csv_path: str) -> str:
        """Text for readers who do not see the plot."""
        parts = (f"{self.title}.", self.reading, f"The data are in {csv_path}.")
        return " ".join(filter(None, parts))


def lines_caption(found: CriterionEffects, sentences: Sequence[str]) -> Caption:
    """Caption of the means of crossed factors, with what they say."""
    return Caption(found.title, " ".join(sentences))


def differences_caption(found: CriterionEffects) -> Caption:
    """Caption of effects and differences of differences."""
    return Caption(f"{found.title}: what each choice changes", "")


def detail_caption(detail: Measurand, *, each_by_itself: bool = False) -> Caption:
    """Caption of the response to edges of one direction and tone."""
    read = "The farther right a curve stays high, the finer the detail that the print keeps."
    if each_by_itself:
        read += " Grey: the other curves. The line marks half of the contrast."
    return Caption(sentence(detail.phrase), read)


def line_pairs_caption(axis: str) -> Caption:
    """Caption of the contrast of bars along one axis."""
    return Caption(
        f"Bars along {axis}",
        "Filled marks: bars that every print resolves. Below the line, bars merge into grey.",
    )


def readings_caption(setting: str, axis: str, reading: str) -> Caption:
    """Caption of the readings of detail of one setting along one axis.

    Parameters
    ----------
    setting : str
    axis : {"x", "y"}
    reading : str
        What to read off the plot.
    """
    return Caption(f"“{short(setting)}”, along {axis}", reading)


def tint_grain_caption(model: ReportModel) -> Caption:
    """Caption of the visible grain by tint."""
    two = isinstance(model, RankingModel) and len(model.ranking.settings) == 2
    where = ": see “What else differs”" if two else ""
    return Caption(
        "Visible grain by tint",
        "Lower is smoother. Each bar is the 95 % interval of one setting's mean. Bars may overlap "
        f"although the settings differ{where}.",
    )


def noise_caption() -> Caption:
    """Caption of the noise power of a tint."""
    return Caption(
        "Grain by coarseness",
        "Grain within the grey band is the most visible; farther right it is ever less so. A "
        "narrow peak is a regular pattern.",
    )


def focus_caption(setting: str, print_id: str) -> Caption:
    """Caption of the focus of one photograph."""
    return Caption(f"“{short(setting)}”, {short(print_id)}", "")


def criterion_caption(criterion: CriterionRanking) -> Caption:
    """Caption of the places on one criterion."""
    side = "right" if criterion.better == "higher" else "left"
    bound = " An arrow means “at least”." if any(p.at_least for p in criterion.places) else ""
    return Caption(
        criterion.title,
        f"Farther {side} is better; a bracket joins settings that are tied.{bound}",
    )


def eyesight_caption(setting: str) -> Caption:
    """Caption of the distances up to which a setting differs visibly from others."""
    return Caption(
        f"Visible difference from “{short(setting)}”",
        "A full-colour bar that reaches the dotted line: visible. A thin line that falls short: "
        "not visible. Otherwise undecided.",
    )


def ladder_caption(climb: CriterionLadder) -> Caption:
    """Caption of a criterion against the ppi sent."""
    reading = "A level row means that the ppi sent does not change it."
    if climb.better == "higher":
        reading = (
            "Where the curve turns level, more pixels add nothing. A ppi that stands out would lie "
            "clear of it."
        )
    return Caption(f"{climb.title} against the ppi sent", reading)


def trend_caption(trend: Trend) -> Caption:
    """Caption of a number over time."""
    return Caption(
        f"{trend.title} over time: {STATES[trend.state]}",
        "Marks are prints; the line joins the daily means. A mean outside the band differs "
        "from its baseline by more than chance explains.",
    )


def repeat_caption() -> Caption:
    """Caption of what the set-up and the printer add."""
    return Caption(
        "Standard deviations of set-up and printer",
        "Bars are standard deviations, thin lines their 95 % intervals, cut at the edge of the "
        "plot. Improve first what has the longer bar.",
    )


def placement_caption(
    offsets: Sequence[tuple[str, str, str, Interval]], distance_mm: float
) -> Caption:
    """Caption of the offsets of the inks, and what they come to.

    Parameters
    ----------
    offsets : sequence of (str, str, str, (float, float))
        Ink, direction, setting, and the 95 % interval of the offset against black in um.
    distance_mm : float
        Viewing distance.
    """
    found = [
        (f"{ink} along {direction} of {quoted(setting)}", alignment(interval, distance_mm))
        for ink, direction, setting, interval in offsets
    ]
    return Caption(
        "Inks against black",
        "A mark on the line is an ink that lands where black does. Within the band, "
        f"{just_visible_um(distance_mm):.0f} um to either side, a keen eye hardly sees an offset "
        f"at {distance_mm / 10:g} cm ({OUT_OF_LINE_ARCSEC:g} seconds of arc). "
        f"{_out_of_line(found)}",
    )


def _out_of_line(found: Sequence[tuple[str, Alignment]]) -> str:
    out = [name for name, verdict in found if verdict is Alignment.MISALIGNED]
    unsettled = sum(verdict is Alignment.UNDECIDED for _, verdict in found)
    if out:
        few = listed(out) if len(out) <= MOST_NAMED else f"{len(out)} of {len(found)}"
        are = "is" if len(out) == 1 else "are"
        text = f"{sentence(few)} {are} out of line by more: a head alignment can help."
    elif not unsettled:
        return "All intervals lie within it: no alignment is needed."
    else:
        text = "No interval lies wholly outside it."
    if unsettled:
        reach = "reaches" if unsettled == 1 else "reach"
        text += f" {unsettled} of {len(found)} {reach} across its border: too uncertain to tell."
    return text
