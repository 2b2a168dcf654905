"""What would mislead unless it is read with the answer: simulated data, unlike prints, gaps."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from dotloupe.capture import Simulated
from dotloupe.compare import cautions as of
from dotloupe.report.text.compare_cautions import compare_caution
from dotloupe.report.text.phrases import counted, listed, quoted, sentence, shown

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.cautions import Caution
    from dotloupe.report.model import ReportModel

BESIDE = (
    of.DifferentSetUps,
    of.SamePrintTwice,
    of.OnePrintEach,
    of.OnePrintEachPpi,
    of.SinglePrints,
    of.NoFitCapture,
    of.MixedSentPpi,
    of.MixedKinds,
    of.OtherPpiInCode,
    of.NoSpread,
)
"""Cautions that stand beside the answer; all others follow at the end."""

MOST_NAMED = 3
"""So many captures that were left out are named; more are counted."""


def simulated_notice(model: ReportModel) -> str:
    """Say in one line that photographs are simulated; empty where none is known to be."""
    of_history = next((c for c in model.cautions if isinstance(c, of.SimulatedCaptures)), None)
    if of_history is not None:
        return _simulated(of_history)
    photographs = [m for s in model.settings for m in s.measurements]
    simulated = sum(any(isinstance(w, Simulated) for w in m.warnings) for m in photographs)
    return _simulated(of.SimulatedCaptures(simulated, len(photographs))) if simulated else ""


def _simulated(among: of.SimulatedCaptures) -> str:
    if among.count == among.photographs:
        return "Simulated data: no printer printed them and no camera saw them."
    return (
        f"Simulated data among these: {among.count} of {counted(among.photographs, 'photograph')} "
        "come from no printer and no camera."
    )


def limits(model: ReportModel) -> tuple[str, ...]:
    """Say what the answer must be read with: unlike set-ups, single prints, captures left out."""
    found = [shown(sentence(compare_caution(c))) for c in model.cautions if isinstance(c, BESIDE)]
    return tuple(filter(None, (*(_closed(said) for said in found), _left_out(model))))


def notes(found: Iterable[Caution]) -> tuple[Caution, ...]:
    """Cautions that follow the answer, those of captures simulated being said before it."""
    return tuple(
        one for one in found if not isinstance(one, (*BESIDE, Simulated, of.SimulatedCaptures))
    )


def _left_out(model: ReportModel) -> str:
    """Name or count the captures that are in no number."""
    gone = model.left_out
    if not gone:
        return ""
    total = len(gone) + sum(len(s.measurements) for s in model.settings)
    are = "is" if len(gone) == 1 else "are"
    said = f"{len(gone)} of {counted(total, 'capture')} {are} left out as unfit"
    if len(gone) > MOST_NAMED:
        return f"{said}; the cautions below name them."
    names = listed(f"{shown(PurePath(o.path).name)} of {quoted(o.setting)}" for o in gone)
    return f"{said}: {names}."


def _closed(text: str) -> str:
    return text if text.endswith(".") else f"{text}."
