"""The question and the verdict of a result, in sentences for a person."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from dotloupe.compare import cautions
from dotloupe.number import OVERALL
from dotloupe.report.text.compare_cautions import compare_caution
from dotloupe.report.text.effects import answer_sentences, effects_question
from dotloupe.report.text.head import head_question, head_sentences, head_visibility
from dotloupe.report.text.ladder import camera_sentence
from dotloupe.report.text.phrases import counted, listed, named, phrase, sentence, shown
from dotloupe.report.text.rounding import interval_text, percent_ends, percent_text, value_text
from dotloupe.report.text.scope import SECOND_PRINT, subject
from dotloupe.report.text.trend import (
    advice_sentence,
    baseline_text,
    event_sentence,
    number_phrase,
)
from dotloupe.report.text.visibility import ranking_visibility

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from dotloupe.cautions import Caution
    from dotloupe.compare import PairDifference, Scope
    from dotloupe.compare.ladder import Ladder
    from dotloupe.compare.ranking import CriterionRanking, Place, Ranking
    from dotloupe.report.model import EffectsModel, HistoryModel, LadderModel, RankingModel

BEFORE_THE_ANSWER = (cautions.DifferentSetUps, cautions.SamePrintTwice)
OTHER_DIRECTION = {"detail_x": "detail_y", "detail_y": "detail_x"}


@dataclass(frozen=True)
class Verdict:
    """What the first screen says.

    Attributes
    ----------
    question : str
    sentences : tuple of str
        The answer, in two or three.
    seen : tuple of str
        Whether it can be seen at the viewing distance.
    """

    question: str
    sentences: tuple[str, ...]
    seen: tuple[str, ...]


def ranking_verdict(model: RankingModel) -> Verdict:
    """Return what a ranking says, first of all criteria together and then of each."""
    ranking = model.ranking
    names = [named(s) for s in ranking.settings]
    one = ranking.scope == "prints"
    which = f"{listed(names, 'or')}: which {'print is' if one else 'prints'} better?"
    question = which if len(names) <= 3 else f"Which of these {len(names)} settings prints best?"
    overall = ranking.criteria.get(OVERALL.name)
    first = (
        _started(_leading_sentence(overall), overall.scope)
        if overall and overall.places
        else _no_overall(ranking)
    )
    second = _started(_criteria_sentence(ranking), ranking.scope)
    limit = (SECOND_PRINT,) if one else ()
    answer = (*_set_ups(ranking.cautions), first, second, *limit)
    return Verdict(question, answer, ranking_visibility(ranking))


def _no_overall(ranking: Ranking) -> str:
    """Return why there is no overall place."""
    if any(len(c.places) > 1 for name, c in ranking.criteria.items() if name != OVERALL.name):
        return "What the settings share does not make an overall place; compare it line by line."
    return "The settings share no criterion, so no overall place can be given."


def ladder_verdict(model: LadderModel) -> Verdict:
    """Return how much resolution is enough, and whether any value stands out."""
    ladder = model.ladder
    climb, rise = ladder.leading, ladder.leading.rise
    what = phrase(ladder.criterion)
    share = f"{100 * ladder.share:g} %"
    first_rung, last_rung = climb.rungs[0], climb.rungs[-1]
    if rise is None:
        gain = 100 * (last_rung.value / first_rung.value - 1)
        more = "rises" if gain >= 0 else "falls"
        enough = (
            f"From {first_rung.sent_ppi:g} to {last_rung.sent_ppi:g} ppi {what} {more} by "
            f"{percent_text(gain)}; where it levels off cannot be told from these values."
        )
    elif rise.enough_ppi is None:
        enough = (
            f"Not even {last_rung.sent_ppi:g} ppi reaches {share} of the level that {what} "
            "climbs to: send higher values to find it."
        )
    else:
        crossing = interval_text(rise.crossing_ppi, *rise.crossing_interval)
        enough = (
            f"{rise.enough_ppi:g} ppi is enough: the least value sent at which {what} reaches "
            f"{share} of its plateau, which the trend crosses at {crossing} ppi."
            f"{_other_direction(ladder, rise.enough_ppi)}"
        )
    question = "How many pixels per inch are worth sending?"
    camera = filter(None, (camera_sentence(climb),))
    answer = (*_set_ups(ladder.cautions), enough, _outstanding_sentence(ladder), *camera)
    return Verdict(question, answer, ())


def _set_ups(found: Iterable[Caution]) -> tuple[str, ...]:
    """What comes before any answer: that prints were not compared alike."""
    first = (one for one in found if isinstance(one, BEFORE_THE_ANSWER))
    return tuple(sentence(shown(compare_caution(one))) + "." for one in first)


def notes(found: Iterable[Caution]) -> tuple[Caution, ...]:
    """Cautions that follow the answer."""
    return tuple(one for one in found if not isinstance(one, BEFORE_THE_ANSWER))


def _other_direction(ladder: Ladder, enough_ppi: float) -> str:
    """Return what is enough in the other direction, where it is another value."""
    name = OTHER_DIRECTION.get(ladder.criterion, "")
    rise = ladder.criteria[name].rise if name in ladder.criteria else None
    if rise is None or rise.enough_ppi == enough_ppi:
        return ""
    if rise.enough_ppi is None:
        return f" For {phrase(name)} no value sent is enough yet."
    return f" For {phrase(name)} it is {rise.enough_ppi:g} ppi."


def effects_verdict(model: EffectsModel) -> Verdict:
    """Return what each choice does, and which depends on which."""
    effects = model.effects
    answer = (*_set_ups(effects.cautions), *answer_sentences(effects))
    return Verdict(effects_question(effects), answer, ())


def history_verdict(model: HistoryModel) -> Verdict:
    """Return whether a printer has changed, and what to do."""
    if model.head is not None:
        said = tuple(shown(said) for said in head_sentences(model.head))
        return Verdict(head_question(model.head), said, head_visibility(model.head))
    trend = model.trends[0]
    printer, mode = named(trend.printer), named(trend.mode)
    question = f"Has {number_phrase(trend)} changed? Printer “{printer}”, “{mode}” mode."
    advice = sentence(shown(advice_sentence(trend)))
    compared = baseline_text(trend)
    against = f", compared with {compared}" if compared else ""
    event = event_sentence(trend)
    said = tuple(filter(None, (advice, event, f"{basis_text(model)}{against}.")))
    return Verdict(question, said, ())


def basis_text(model: HistoryModel) -> str:
    """Return how many prints a history rests on, and when they were made; no full stop."""
    trend = max(model.trends, key=lambda t: len(t.points))
    first, last = trend.points[0].printed_on, trend.points[-1].printed_on
    span = f"on {first}" if first == last else f"from {first} to {last}"
    return f"This rests on {counted(len(trend.points), 'print')} on {named(trend.paper)}, {span}"


def _outstanding_sentence(ladder: Ladder) -> str:
    departures = ladder.leading.departures
    found = [d for d in departures if d.outstanding]
    if not departures:
        return "Whether any value stands out takes five values of ppi or more."
    if not found:
        largest = max(departures, key=lambda d: abs(d.percent))
        return (
            "No value of ppi is special: none stands out from its neighbours' trend, the largest "
            f"departure being {percent_text(largest.percent, largest.low, largest.high)} at "
            f"{largest.sent_ppi:g} ppi."
        )
    each = (
        f"{d.sent_ppi:g} ppi lies {percent_text(d.percent, d.low, d.high)} "
        f"{'above' if d.percent > 0 else 'below'} it"
        for d in found
    )
    return f"Against the trend of the others, {listed(each)}."


def _leading_sentence(overall: CriterionRanking) -> str:
    first = [p for p in overall.places if p.place == 1]
    rest = [p for p in overall.places if p.place > 1]
    name = partial(_subject, scope=overall.scope)
    names = listed(name(p.setting) for p in first)
    if not rest:
        prints = f" on {_prints(overall.places)}" if overall.scope == "settings" else ""
        return f"Overall {names} cannot be told apart{prints}."
    if len(first) > 1:
        best = first[0].setting
        beaten = [name(p.setting) for p in rest if best not in p.tied_with]
        lie = "lies" if len(beaten) == 1 else "lie"
        tail = f"; {listed(beaten)} {lie} behind {name(best)}" if beaten else ""
        return f"{names} share the lead overall and cannot be told apart{tail}."
    rivals = first[0].tied_with
    if rivals:
        tied = listed(name(s) for s in rivals)
        return f"{names} leads overall, but cannot be told from {tied} on these prints."
    pair = next(p for p in overall.pairs if first[0].setting in (p.setting, p.other))
    behind = listed(name(p.setting) for p in rest)
    rival = f" of {named(pair.other)}" if len(rest) > 1 else ""
    small = ", but by less than an eye sees" if abs(pair.difference) < 1 else ""
    better = "prints better" if overall.scope == "settings" else "is better"
    return f"{names} {better} than {behind}{small}: overall it is {_ahead(pair, rival)}."


def _started(said: str, scope: Scope) -> str:
    """Return a sentence that starts with a print with a capital, and a setting's name as it is."""
    return sentence(said) if scope == "prints" else said


def _subject(setting: str, scope: Scope) -> str:
    return subject(named(setting), scope)


def _prints(places: Sequence[Place]) -> str:
    counts = sorted({p.n for p in places})
    if len(counts) == 1:
        return f"{counted(counts[0], 'print')} each"
    return f"{counts[0]} to {counts[-1]} prints each"


def _ahead(pair: PairDifference, rival: str) -> str:
    if pair.low is None or pair.high is None:
        least = "at least " if pair.at_least else ""
        return f"{least}{abs(pair.difference):.2g} visible steps ahead{rival}"
    value = value_text(pair.difference, pair.low, pair.high)
    ends = interval_text(pair.difference, pair.low, pair.high)
    return f"{value} visible steps ahead{rival} (95 % interval {ends})"


def _criteria_sentence(ranking: Ranking) -> str:
    single = [c for n, c in ranking.criteria.items() if n != OVERALL.name and len(c.places) > 1]
    apart = [c for c in single if any(p.distinguishable for p in c.pairs)]
    level = [c for c in single if c not in apart]
    if not apart:
        return "No single criterion tells any two of them apart."
    said = [_advantage(c) for c in apart]
    text = "; ".join(said)
    if level:
        text += f"; {listed(phrase(c.name, c.title) for c in level)} cannot be told apart"
    return f"{text}."


def _advantage(criterion: CriterionRanking) -> str:
    pair = max(
        (p for p in criterion.pairs if p.distinguishable), key=lambda p: abs(p.percent or 0.0)
    )
    amount, ends = "", ""
    if pair.percent is not None:
        amount = percent_text(pair.percent, pair.percent_low, pair.percent_high) + " "
        amount = f"at least {amount}" if pair.at_least else amount
        ends = percent_ends(pair.percent, pair.percent_low, pair.percent_high)
    more = "more" if criterion.better == "higher" else "less"
    what = phrase(criterion.name, criterion.title)
    setting, other = (_subject(s, criterion.scope) for s in (pair.setting, pair.other))
    return f"{setting} has {amount}{more} {what} than {other}{ends and f' ({ends})'}"
