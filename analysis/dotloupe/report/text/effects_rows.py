"""Effects of crossed factors as rows of tables, for the terminal and the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.report.text.effects import level_text, signed_text, told_effect, told_interaction
from dotloupe.report.text.phrases import named
from dotloupe.report.text.rounding import NO_NUMBER, column_decimals

if TYPE_CHECKING:
    from dotloupe.compare.effects import CriterionEffects, Effect, Effects, Estimate, Interaction

EFFECT_HEADS = ("choice", "in", "difference", "95 % interval", "%", "")
INTERACTION_HEADS = ("what depends on what", "difference", "95 % interval", "")
DIFFERS, TIED, NOT_KNOWN = "differs", "tied", "not known"


@dataclass(frozen=True)
class EffectTables:
    """Rows of one criterion: effects, averaged and within levels, and interactions."""

    effects: tuple[tuple[str, ...], ...]
    interactions: tuple[tuple[str, ...], ...]


def effect_tables(told: Effects, criterion: CriterionEffects) -> EffectTables:
    """Return the rows of one criterion, the averaged effects first."""
    effects, interactions = told_contrasts(told, criterion)
    places = _places([e.estimate for e in effects])
    inner = _places([i.estimate for i in interactions])
    return EffectTables(
        tuple(_effect_row(e, places) for e in effects),
        tuple(_interaction_row(i, inner) for i in interactions),
    )


def told_contrasts(
    told: Effects, criterion: CriterionEffects
) -> tuple[tuple[Effect, ...], tuple[Interaction, ...]]:
    """Return effects and interactions that have a row each, the averaged effects first.

    Where combinations are missing, an effect within a level may be the averaged one itself: it has
    one row, as the two families of intervals could call the same difference tied and different.
    """
    averaged = [e.contrast.weights for e in criterion.effects]
    inner = (e for e in criterion.simple_effects if e.contrast.weights not in averaged)
    every = (*criterion.effects, *inner)
    return (
        tuple(e for e in every if told_effect(told, e)),
        tuple(i for i in criterion.interactions if told_interaction(told, i)),
    )


def contrast_names(told: Effects, criterion: CriterionEffects) -> tuple[str, ...]:
    """Return the name of every row of both tables, effects first, for a plot."""
    effects, interactions = told_contrasts(told, criterion)
    return (
        *(_effect_name(e) + (f", in {_within(e)}" if e.contrast.within else "") for e in effects),
        *(_interaction_name(i) for i in interactions),
    )


def _effect_name(effect: Effect) -> str:
    contrast = effect.contrast
    levels = " to ".join(level_text(x, contrast.factor) for x in (contrast.start, contrast.end))
    return f"{named(contrast.factor, 16)}: {levels}"


def _within(effect: Effect) -> str:
    return ", ".join(level_text(x, name) for name, x in effect.contrast.within.items())


def _interaction_name(found: Interaction) -> str:
    (first, second), (a, c), (b, d) = (
        found.contrast.factors,
        found.contrast.start,
        found.contrast.end,
    )
    inner = f"{level_text(c, second)} to {level_text(d, second)}"
    return f"{inner}: {level_text(b, first)} against {level_text(a, first)}"


def _places(found: list[Estimate]) -> int:
    return column_decimals(
        (e.difference, e.low, e.high)
        if e.low is not None and e.high is not None
        else (e.difference, e.difference, e.difference)
        for e in found
    )


def _effect_row(effect: Effect, places: int) -> tuple[str, ...]:
    percent = effect.percent
    return (
        _effect_name(effect),
        _within(effect) or "all",
        *_numbers(effect.estimate, places),
        NO_NUMBER if percent is None else signed_text(percent[0], 1),
        _verdict(effect.estimate),
    )


def _interaction_row(found: Interaction, places: int) -> tuple[str, ...]:
    return (
        _interaction_name(found),
        *_numbers(found.estimate, places),
        _verdict(found.estimate),
    )


def _numbers(found: Estimate, places: int) -> tuple[str, str]:
    if found.low is None or found.high is None:
        return signed_text(found.difference, places), NOT_KNOWN
    ends = (signed_text(end, places) for end in (found.low, found.high))
    return signed_text(found.difference, places), " to ".join(ends)


def _verdict(found: Estimate) -> str:
    if found.low is None:
        return ""
    return DIFFERS if found.distinguishable else TIED
