"""The question and the verdict of a result, in sentences for a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.report.text.effects import answer_sentences, effects_question
from dotloupe.report.text.foreign_structure import added_structure_sentences
from dotloupe.report.text.head import head_question, head_sentences, head_visibility
from dotloupe.report.text.ladder import camera_sentence, enough_sentences, outstanding_sentence
from dotloupe.report.text.leading import criteria_sentences, leading_sentences
from dotloupe.report.text.limits import limits, simulated_notice
from dotloupe.report.text.phrases import counted, listed, quoted, sentence, shown
from dotloupe.report.text.trend import (
    advice_sentence,
    baseline_text,
    event_sentence,
    number_phrase,
)
from dotloupe.report.text.visibility import ranking_visibility

if TYPE_CHECKING:
    from dotloupe.report.model import (
        EffectsModel,
        HistoryModel,
        LadderModel,
        RankingModel,
        ReportModel,
    )

MOST_ASKED = 3
"""So many settings stand by name in the question."""


@dataclass(frozen=True)
class Verdict:
    """What the first screen says.

    Attributes
    ----------
    question : str
    sentences : tuple of str
        The answer.
    seen : tuple of str
        Whether it can be seen at the viewing distance, and from how far.
    notice : str
        What stands before all else: that data are simulated; empty where none are.
    limits : tuple of str
        What the answer must be read with.
    """

    question: str
    sentences: tuple[str, ...]
    seen: tuple[str, ...]
    notice: str
    limits: tuple[str, ...]


def verdict_of(
    model: ReportModel, question: str, answer: tuple[str, ...], seen: tuple[str, ...] = ()
) -> Verdict:
    """Return a verdict with what would mislead if it were not read beside it.

    Parameters
    ----------
    model : ReportModel
    question : str
    answer, seen : tuple of str
        Sentences on the result, and on what the eye sees of it.
    """
    return Verdict(question, answer, seen, simulated_notice(model), limits(model))


def ranking_verdict(model: RankingModel) -> Verdict:
    """Return what a ranking says, first of all criteria together and then of each."""
    ranking = model.ranking
    names = [quoted(s) for s in ranking.settings]
    one = ranking.scope == "prints"
    which = f"{listed(names, 'or')}: which {'print is' if one else 'prints'} better?"
    question = (
        which if len(names) <= MOST_ASKED else f"Which of these {len(names)} settings prints best?"
    )
    answer = (
        *leading_sentences(ranking),
        *criteria_sentences(ranking),
        *added_structure_sentences(model.added_structure),
    )
    return verdict_of(model, question, answer, ranking_visibility(ranking))


def ladder_verdict(model: LadderModel) -> Verdict:
    """Return how much resolution is enough, and whether any value stands out."""
    ladder = model.ladder
    camera = camera_sentence(ladder.leading)
    added = added_structure_sentences(model.added_structure)
    answer = (*enough_sentences(ladder), outstanding_sentence(ladder), *added, camera)
    question = "How many pixels per inch are worth sending?"
    return verdict_of(model, question, tuple(filter(None, answer)))


def effects_verdict(model: EffectsModel) -> Verdict:
    """Return what each choice does, and which depends on which."""
    added = added_structure_sentences(model.added_structure)
    answer = (*answer_sentences(model.effects), *added)
    return verdict_of(model, effects_question(model.effects), answer)


def history_verdict(model: HistoryModel) -> Verdict:
    """Return whether a printer has changed, and what to do."""
    if model.head is not None:
        said = tuple(shown(said) for said in head_sentences(model.head))
        return verdict_of(model, head_question(model.head), said, head_visibility(model.head))
    trend = model.trends[0]
    printer, mode = quoted(trend.printer), quoted(trend.mode)
    question = f"Has {number_phrase(trend)} changed? Printer {printer}, {mode} mode."
    advice = sentence(shown(advice_sentence(trend)))
    compared = baseline_text(trend)
    against = f", compared with {compared}" if compared else ""
    event = event_sentence(trend)
    said = tuple(filter(None, (advice, event, f"{basis_text(model)}{against}.")))
    return verdict_of(model, question, said)


def basis_text(model: HistoryModel) -> str:
    """Return how many prints a history rests on, and when they were made; no full stop."""
    trend = max(model.trends, key=lambda t: len(t.points))
    first, last = trend.points[0].printed_on, trend.points[-1].printed_on
    span = f"on {first}" if first == last else f"from {first} to {last}"
    return f"This rests on {counted(len(trend.points), 'print')} on {quoted(trend.paper)}, {span}"
