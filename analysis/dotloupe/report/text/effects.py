"""What crossed factors say, in sentences: what each choice does, and what depends on what."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare.effects import CostKind
from dotloupe.report.text.phrases import counted, listed, named, phrase, sentence
from dotloupe.report.text.rounding import decimals, number_text, percent_ends, percent_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.effects import (
        CostDifference,
        CriterionEffects,
        Effect,
        Effects,
        Factor,
        Interaction,
        Level,
        Line,
    )


COST_NAMES = {CostKind.INK: "ink", CostKind.PAPER: "paper"}
MOST_LEVELS = 3
MOST_IN_FULL = 2
"""So many criteria in which choices depend on each other are told in full."""


def level_text(level: Level, factor: str = "") -> str:
    """Return a level as it stands in a sentence: a name in quotation marks, a number as it is."""
    if isinstance(level, str):
        return f"“{named(level)}”"
    return f"{level:g} ppi" if factor == "ppi" else f"{level:g}"


def effects_question(effects: Effects) -> str:
    """Return what crossed factors are asked."""
    names = [named(f.name) for f in effects.factors]
    if len(names) == 1:
        return f"{sentence(names[0])}: what does it change?"
    return f"{sentence(listed(names, 'or'))}: which choice did it?"


def leading_first(effects: Effects) -> tuple[CriterionEffects, ...]:
    """Return the criteria that have values, those in which choices depend or differ first."""
    found = [c for c in effects.criteria.values() if c.effects]
    return tuple(sorted(found, key=lambda c: (not depends(c), not _differs(c))))


def depends(criterion: CriterionEffects) -> bool:
    """Whether the effect of any choice is shown to depend on another."""
    return any(i.estimate.distinguishable for i in criterion.interactions)


def answer_sentences(effects: Effects) -> tuple[str, ...]:
    """Answer which choice did it: first what depends, then what each choice does elsewhere.

    Parameters
    ----------
    effects : Effects
    """
    criteria = leading_first(effects)
    first = [c for c in criteria if depends(c)]
    said = [s for c in first[:MOST_IN_FULL] for s in effects_sentences(effects, c)]
    rest = [c for c in criteria if c not in first[:MOST_IN_FULL]]
    each = [_factor_sentence(factor, rest) for factor in effects.factors]
    said += filter(None, each)
    compared = {e.contrast.factor for c in criteria for e in c.effects}
    alone = [named(f.name) for f in effects.factors if f.name not in compared]
    if alone:
        said.append(f"Nothing can be said of {listed(alone)}: no two of its levels share the rest.")
    if all(e.estimate.low is None for c in criteria for e in c.effects):
        said.append("These prints cannot tell what any choice does: print each a second time.")
    elif rest and not any(each):
        elsewhere = " elsewhere" if first else ""
        said.append(f"These prints show no difference{elsewhere}.")
    if len(effects.factors) > 1 and not first:
        asked = [i.estimate for c in criteria for i in c.interactions]
        if asked and all(e.low is None for e in asked):
            said.append("Whether one choice depends on another takes a second print of each.")
        elif asked:
            said.append("These prints do not show that any choice depends on another.")
    return tuple(filter(None, (*said, *curve_sentences(effects)[:1], *_cost_sentences(effects))))


def curve_sentences(effects: Effects) -> tuple[str, ...]:
    """Say how many ppi are enough on each line, and whether the curves differ.

    Parameters
    ----------
    effects : Effects
    """
    said = []
    for found in effects.curves:
        what = phrase(found.name, effects.criteria[found.name].title)
        goal = f"{100 * found.share:g} % of the plateau of {what}"
        sentences = [f"{sentence(_enough(line, goal))}." for line in found.lines]
        if len(found.lines) > 1 and found.p_value is not None:
            sentences.append(
                "The curves differ." if found.differ else "The curves cannot be distinguished."
            )
        said.append(" ".join(sentences))
    return tuple(said)


def _enough(line: Line, goal: str) -> str:
    """Say what is enough on one line."""
    where = " with ".join(level_text(x, name) for name, x in line.levels.items())
    if line.enough_ppi is None:
        return f"in {where} none of the ppi sent reaches {goal}"
    low, high = (f"{end:.0f}" for end in line.crossing_interval)
    trend = f"the trend crosses it at {line.crossing_ppi:.0f}, {low} to {high}"
    return f"in {where} {line.enough_ppi:g} ppi reaches {goal} ({trend})"


def told_pair(effects: Effects, factor: str, levels: tuple[Level, Level]) -> bool:
    """Whether a pair of levels is told: of a number of many levels, the ends alone."""
    found = next(f for f in effects.factors if f.name == factor)
    ends = (found.levels[0], found.levels[-1])
    return not found.is_number or len(found.levels) <= MOST_LEVELS or levels == ends


def _cost_sentences(effects: Effects) -> list[str]:
    """Say what each choice costs beside what it buys, averaged over the other choices."""
    said: dict[tuple[str, Level, Level], list[CostDifference]] = {}
    for cost in effects.costs:
        said.setdefault((cost.factor, cost.start, cost.end), []).append(cost)
    sentences = []
    for (factor, start, end), costs in said.items():
        falls = costs[0].at_end < costs[0].at_start
        dear, cheap = (start, end) if falls else (end, start)
        prices = listed(_price(c, falls=falls) for c in costs)
        bought = _bought(effects, factor, (start, end), falls=falls)
        what = listed(bought) if bought else "nothing that these prints show"
        sentences.append(
            f"{level_text(dear, factor)} {prices}; over {level_text(cheap, factor)} it buys {what}."
        )
    return sentences


def _price(cost: CostDifference, *, falls: bool) -> str:
    """Return what a print costs, with what it costs otherwise."""
    dear, cheap = (cost.at_start, cost.at_end) if falls else (cost.at_end, cost.at_start)
    if cost.kind is CostKind.SECONDS:
        return f"takes {dear:.0f} s a print instead of {cheap:.0f} s"
    return f"costs {dear:.2f} in {COST_NAMES[cost.kind]} instead of {cheap:.2f}"


def _bought(
    effects: Effects, factor: str, levels: tuple[Level, Level], *, falls: bool
) -> list[str]:
    """List what the dearer level improves, averaged over the other choices."""
    found = []
    for criterion in leading_first(effects):
        for e in criterion.effects:
            if (e.contrast.factor, e.contrast.start, e.contrast.end) != (factor, *levels):
                continue
            more = (e.estimate.difference > 0) != falls
            if e.estimate.distinguishable and more == (criterion.better == "higher"):
                what = phrase(criterion.name, criterion.title)
                amount = "" if e.percent is None else f"{percent_text(*e.percent)} "
                found.append(f"{amount}{'more' if more else 'less'} {what}")
    return found


def _factor_sentence(factor: Factor, rest: Sequence[CriterionEffects]) -> str:
    """Say what one choice changes in the criteria left, averaged; empty where nothing."""
    said = []
    for criterion in rest:
        apart = [
            e
            for e in criterion.effects
            if e.contrast.factor == factor.name and e.estimate.distinguishable
        ]
        if apart:
            said.append(_change(max(apart, key=_size), criterion, pair=len(factor.levels) > 2))
    head = f"{sentence(named(factor.name))}"
    if len(factor.levels) == 2:
        start, end = (level_text(x, factor.name) for x in factor.levels)
        head += f", {start} to {end}"
    return f"{head}: {listed(said)}." if said else ""


def told_effect(effects: Effects, effect: Effect) -> bool:
    """Whether an effect has its row and its bar; the JSON holds all."""
    contrast = effect.contrast
    return told_pair(effects, contrast.factor, (contrast.start, contrast.end))


def told_interaction(effects: Effects, found: Interaction) -> bool:
    """Whether an interaction has its row and its bar; the JSON holds all."""
    ends = zip(found.contrast.factors, found.contrast.start, found.contrast.end, strict=True)
    return all(told_pair(effects, name, (start, end)) for name, start, end in ends)


def effects_sentences(effects: Effects, criterion: CriterionEffects) -> tuple[str, ...]:
    """Say what every choice does to one criterion, and what depends on what.

    Parameters
    ----------
    effects : Effects
    criterion : CriterionEffects
        One of its criteria.
    """
    found = [
        i
        for i in criterion.interactions
        if i.estimate.distinguishable and told_interaction(effects, i)
    ]
    entangled = {name for i in found for name in i.contrast.factors}
    said = []
    for factor in effects.factors:
        if factor.name in entangled:
            continue
        own = [
            e
            for e in criterion.effects
            if e.contrast.factor == factor.name and told_effect(effects, e)
        ]
        said += [f"{_effect_sentence(e, criterion)}." for e in _worth_saying(own)]
    for first, second in dict.fromkeys(i.contrast.factors for i in found):
        inner = [
            e
            for e in criterion.simple_effects
            if e.contrast.factor == second
            and first in e.contrast.within
            and told_effect(effects, e)
        ]
        said += _within_sentences(inner, criterion, first)
        said += _dependence([i for i in found if i.contrast.factors == (first, second)])
    return tuple(said)


def _worth_saying(found: Sequence[Effect]) -> Sequence[Effect]:
    """Of the pairs of many levels, those that differ, or else the one of the largest difference."""
    if len(found) <= 1:
        return found
    return [e for e in found if e.estimate.distinguishable] or [max(found, key=_size)]


def _within_sentences(inner: Sequence[Effect], criterion: CriterionEffects, by: str) -> list[str]:
    """Say one change within each level of another factor."""
    changes: dict[tuple[Level, Level], list[Effect]] = {}
    for effect in inner:
        changes.setdefault((effect.contrast.start, effect.contrast.end), []).append(effect)
    said = []
    for group in changes.values():
        if len(changes) > 1 and not any(e.estimate.distinguishable for e in group):
            continue
        first, *others = sorted(group, key=lambda e: not e.estimate.distinguishable)
        where = f"{_effect_sentence(first, criterion)} in {_place(first, by)}"
        rest = (f"in {_place(e, by)} it {_deed(e, criterion)}" for e in others)
        said.append(f"{'; '.join((where, *rest))}.")
    return said


def _effect_sentence(effect: Effect, criterion: CriterionEffects) -> str:
    """Say one effect, without its full stop."""
    contrast = effect.contrast
    start, end = (level_text(x, contrast.factor) for x in (contrast.start, contrast.end))
    what = phrase(criterion.name, criterion.title)
    change = f"{sentence(named(contrast.factor))} from {start} to {end}"
    return f"{change} {_deed(effect, criterion, what)}"


def _deed(effect: Effect, criterion: CriterionEffects, what: str = "") -> str:
    """Say what a choice did to a criterion, which is named where `what` is given."""
    if effect.estimate.distinguishable:
        return f"{_verb(effect)} {what or 'it'} by {_amount(effect, criterion)}"
    if effect.estimate.low is None:
        return f"may or may not change {what or 'it'}: these prints cannot tell"
    prints = counted(effect.estimate.n, "print")
    ends = _signed_ends(effect)
    on = f" on {what}" if what else ""
    return f"shows no effect{on} with {prints}{ends and f' ({ends})'}"


def _place(effect: Effect, by: str) -> str:
    return level_text(effect.contrast.within[by], by)


def _dependence(found: Sequence[Interaction]) -> list[str]:
    first, second = found[0].contrast.factors
    said = [f"What {named(second)} does depends on {named(first)}."]
    ratios = [i.ratio for i in found if i.ratio is not None]
    if ratios and not any(r.distinguishable for r in ratios):
        said.append("As a share of the value the changes cannot be distinguished.")
    return said


def _change(effect: Effect, criterion: CriterionEffects, *, pair: bool) -> str:
    more = "more" if effect.estimate.difference > 0 else "less"
    ends = ""
    if (percent := effect.percent) is not None:
        amount = percent_text(*percent)
        if end_text := percent_ends(*percent):
            ends = f" ({end_text})"
    else:
        amount = number_text(abs(effect.estimate.difference), 2)
    what = phrase(criterion.name, criterion.title)
    levels = (effect.contrast.start, effect.contrast.end)
    between = ""
    if pair:
        start, end = (level_text(x, effect.contrast.factor) for x in levels)
        between = f" from {start} to {end}"
    return f"{amount} {more} {what}{ends}{between}"


def _verb(effect: Effect) -> str:
    return "raised" if effect.estimate.difference > 0 else "lowered"


def _amount(effect: Effect, criterion: CriterionEffects) -> str:
    if (percent := effect.percent) is not None:
        return f"{percent_text(*percent)} ({percent_ends(*percent)})"
    return f"{number_text(abs(effect.estimate.difference), 2)} {criterion.unit}"


def _signed_ends(effect: Effect) -> str:
    """Return the interval with its signs; empty where there is none."""
    percent = effect.percent
    if percent is None or percent[1] is None or percent[2] is None:
        return ""
    value, low, high = percent[0], percent[1], percent[2]
    places = min(max(decimals(value, low, high), 0), 1)
    return f"{signed_text(low, places)} to {signed_text(high, places)} %"


def signed_text(value: float, places: int) -> str:
    """Return a number with its sign, a true minus among them."""
    text = number_text(abs(value), places)
    if not any(c in "123456789" for c in text):
        return text
    return f"{'+' if value > 0 else '−'}{text}"


def _differs(criterion: CriterionEffects) -> bool:
    return any(e.estimate.distinguishable for e in (*criterion.effects, *criterion.simple_effects))


def _size(effect: Effect) -> float:
    percent = effect.percent
    return abs(effect.estimate.difference if percent is None else percent[0])
