"""The first screen of crossed factors: a row for every choice, a column for every criterion."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.effects import leading_first, level_text, signed_text, told_effect
from dotloupe.report.text.first_screen_table import Cell, Column, FirstScreen, Row
from dotloupe.report.text.phrases import counted, listed, named, phrase, sentence
from dotloupe.report.text.rounding import decimals
from dotloupe.report.text.verdict import effects_verdict

if TYPE_CHECKING:
    from dotloupe.compare.effects import CriterionEffects, Effect
    from dotloupe.report.model import EffectsModel

CAPTION = (
    "Change of each choice in per cent, averaged over the other choices, with its 95 % interval. "
    "The intervals of one column hold together. Tied: these prints show no difference."
)


def effects_screen(model: EffectsModel) -> FirstScreen:
    """Build the first screen of crossed factors."""
    effects = model.effects
    found = leading_first(effects)
    keys = dict.fromkeys(_key(e) for c in found for e in c.effects if told_effect(effects, e))
    rows = []
    for factor, start, end in keys:
        cells = tuple(_cell_of(c, (factor, start, end)) for c in found)
        levels = " to ".join(level_text(x, factor) for x in (start, end))
        n = max(e.estimate.n for c in found for e in c.effects if _key(e) == (factor, start, end))
        rows.append(Row(f"{named(factor)}, {levels}", counted(n, "print"), "", None, cells))
    columns = tuple(
        Column(sentence(phrase(c.name, c.title)), f"%, {c.better} is better") for c in found
    )
    return FirstScreen(effects_verdict(model), CAPTION, "Choice", columns, tuple(rows))


def _key(effect: Effect) -> tuple[str, str | float, str | float]:
    contrast = effect.contrast
    return contrast.factor, contrast.start, contrast.end


def _cell_of(criterion: CriterionEffects, key: tuple[str, str | float, str | float]) -> Cell | None:
    effect = next((e for e in criterion.effects if _key(e) == key), None)
    if effect is None or (percent := effect.percent) is None:
        return None
    value, low, high = percent
    found = effect.estimate
    better = (found.difference > 0) == (criterion.better == "higher")
    verdict = ("better" if better else "worse") if found.distinguishable else "tied"
    if low is None or high is None:
        return _cell(signed_text(value, 1), "not known", "", leads=False)
    places = min(max(decimals(value, low, high), 0), 1)
    ends = " to ".join(signed_text(end, places) for end in (low, high))
    depends = [
        other
        for i in criterion.interactions
        if effect.contrast.factor in i.contrast.factors and i.estimate.distinguishable
        for other in i.contrast.factors
        if other != effect.contrast.factor
    ]
    note = verdict
    if depends:
        note += f"; depends on {listed(named(d) for d in dict.fromkeys(depends))}"
    leads = found.distinguishable and better
    return _cell(signed_text(value, places), ends, note, leads=leads)


def _cell(value: str, interval: str, note: str, *, leads: bool) -> Cell:
    return Cell(value, interval, note, leads, 0.0, 0.0, 0.0)
