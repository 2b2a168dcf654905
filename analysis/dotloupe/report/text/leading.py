"""Which setting leads a ranking, by how much and in what, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.visibility import Visibility, visibility_at
from dotloupe.number import CONTRAST_CRITERIA, OVERALL
from dotloupe.report.text.contrast import contrast_sentences
from dotloupe.report.text.phrases import counted, listed, phrase, quoted, sentence
from dotloupe.report.text.rounding import interval_text, percent_ends, percent_text, value_text
from dotloupe.report.text.scope import subject

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare import PairDifference, Scope
    from dotloupe.compare.ranking import CriterionRanking, Place, Ranking
    from dotloupe.compare.visibility import PairVisibility

A_SENTENCE = 2
"""So many advantages stand in one sentence."""

UNSETTLED = "These prints do not settle"


def leading_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say who prints measurably better, and whether that shows at the viewing distance."""
    overall = ranking.criteria.get(OVERALL.name)
    if overall is None or not overall.places:
        return tuple(filter(None, (_no_overall(ranking),)))
    first = [p for p in overall.places if p.place == 1]
    rest = [p for p in overall.places if p.place > 1]
    scope = overall.scope
    names = listed(_subject(p.setting, scope) for p in first)
    if not rest:
        prints = f" on {_prints(overall.places)}" if scope == "settings" else ""
        return (f"{sentence(names)} cannot be distinguished overall{prints}.",)
    if len(first) > 1:
        best = first[0]
        beaten = [_subject(p.setting, scope) for p in rest if best.setting not in p.tied_with]
        tail = f"; {_subject(best.setting, scope)} beats {listed(beaten)}" if beaten else ""
        return (f"{sentence(names)} share the lead and cannot be distinguished{tail}.",)
    best = first[0]
    if best.tied_with:
        tied = listed(_subject(s, scope) for s in best.tied_with)
        return (f"{sentence(names)} leads, but these prints do not distinguish it from {tied}.",)
    pair = next(p for p in overall.pairs if best.setting in (p.setting, p.other))
    behind = listed(_subject(p.setting, scope) for p in rest)
    better = "prints measurably" if scope == "settings" else "is measurably"
    nearest = f" over {_subject(pair.other, scope)}" if len(rest) > 1 else ""
    said = f"{sentence(names)} {better} better than {behind}, by {_steps(pair)}{nearest}."
    return tuple(filter(None, (said, _shows(ranking, pair))))


def criteria_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say in what each setting is ahead, and what is tied."""
    single = [c for n, c in ranking.criteria.items() if n != OVERALL.name and len(c.places) > 1]
    apart = [c for c in single if any(p.distinguishable for p in c.pairs)]
    tied = [phrase(c.name, c.title) for c in single if c not in apart]
    of_contrast = contrast_sentences([c for c in apart if c.name in CONTRAST_CRITERIA])
    if not apart:
        return ("No criterion distinguishes any two of them.",) if single else ()
    by_pair: dict[tuple[str, str], list[str]] = {}
    for criterion in (c for c in apart if c.name not in CONTRAST_CRITERIA):
        pair = max(
            (p for p in criterion.pairs if p.distinguishable), key=lambda p: abs(p.percent or 0.0)
        )
        by_pair.setdefault((pair.setting, pair.other), []).append(_advantage(criterion, pair))
    said = []
    place = {p.setting: p.place for p in ranking.criteria[OVERALL.name].places}
    for (setting, other), advantages in sorted(
        by_pair.items(), key=lambda found: place.get(found[0][0], len(place))
    ):
        who, than = (_subject(s, ranking.scope) for s in (setting, other))
        for start in range(0, len(advantages), A_SENTENCE):
            what = listed(advantages[start : start + A_SENTENCE])
            said.append(
                f"It also has {what}." if start else f"{sentence(who)} has {what} than {than}."
            )
    said += of_contrast
    if tied:
        said.append(f"Tied: {listed(tied)}.")
    return tuple(said)


def shown_at(found: PairVisibility) -> Visibility:
    """Whether two settings look different at the viewing distance, by criteria and by pictures."""
    at = found.viewing_distance_mm
    each = [visibility_at(found.interval, at)]
    if found.picture is not None and found.picture.repeats_known:
        each.append(visibility_at(found.picture.interval, at))
    if Visibility.VISIBLE in each:
        return Visibility.VISIBLE
    return Visibility.UNDECIDED if Visibility.UNDECIDED in each else Visibility.NOT_VISIBLE


def _no_overall(ranking: Ranking) -> str:
    """Return why there is no overall place; empty where gratings answer by themselves."""
    if set(ranking.criteria) - {OVERALL.name} <= CONTRAST_CRITERIA.keys():
        apart = any(p.distinguishable for c in ranking.criteria.values() for p in c.pairs)
        return "" if apart else "Faint and colour detail have no overall place."
    if any(len(c.places) > 1 for name, c in ranking.criteria.items() if name != OVERALL.name):
        return "The settings share too few criteria for an overall place; compare line by line."
    return "The settings share no criterion, so no overall place can be given."


def _shows(ranking: Ranking, pair: PairDifference) -> str:
    """Say whether the difference of the leader to its rival shows at the viewing distance."""
    ends = {pair.setting, pair.other}
    found = next((v for v in ranking.visibility if {v.setting, v.other} == ends), None)
    if found is None:
        return ""
    at = f"{found.viewing_distance_mm / 10:g} cm"
    match shown_at(found):
        case Visibility.VISIBLE:
            return f"A keen eye sees the difference at {at}."
        case Visibility.NOT_VISIBLE:
            return f"It does not show at {at}."
    return f"{UNSETTLED} whether it shows at {at}."


def _subject(setting: str, scope: Scope) -> str:
    return subject(quoted(setting), scope)


def _prints(places: Sequence[Place]) -> str:
    counts = sorted({p.n for p in places})
    if len(counts) == 1:
        return f"{counted(counts[0], 'print')} each"
    return f"{counts[0]} to {counts[-1]} prints each"


def _steps(pair: PairDifference) -> str:
    if pair.low is None or pair.high is None:
        least = "at least " if pair.at_least else ""
        return f"{least}{abs(pair.difference):.2g} visible steps"
    value = value_text(pair.difference, pair.low, pair.high)
    ends = interval_text(pair.difference, pair.low, pair.high)
    return f"{value} visible steps (95 % interval {ends})"


def _advantage(criterion: CriterionRanking, pair: PairDifference) -> str:
    amount, ends = "", ""
    if pair.percent is not None:
        amount = percent_text(pair.percent, pair.percent_low, pair.percent_high) + " "
        amount = f"at least {amount}" if pair.at_least else amount
        ends = percent_ends(pair.percent, pair.percent_low, pair.percent_high)
    more = "more" if criterion.better == "higher" else "less"
    what = phrase(criterion.name, criterion.title)
    return f"{amount}{more} {what}{ends and f' ({ends})'}"
