"""How well printer and set-up repeat, in sentences and a table."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from dotloupe.compare.repeatability import Improve
from dotloupe.number import CRITERIA
from dotloupe.report.text.first_screen_table import Cell, Column, FirstScreen, Row
from dotloupe.report.text.phrases import counted, listed, phrase
from dotloupe.report.text.rounding import NO_END
from dotloupe.report.text.verdict import verdict_of

if TYPE_CHECKING:
    from dotloupe.compare.repeatability import Component, NumberRepeatability, Repeatability
    from dotloupe.report.model import RepeatModel

PRINTS, PERCENT = 3, 5
"""Prints of the smallest difference, and difference of the number of prints, in the table."""

FIRST = {
    Improve.CAMERA: (
        "Improve the set-up first: in most numbers it adds more variation than the printer. Focus, "
        "flat paper and even light come before more prints."
    ),
    Improve.PRINTER: (
        "The set-up is good enough: prints vary more than photographs of one print. More prints "
        "help; more photographs hardly do."
    ),
    Improve.EITHER: "Set-up and printer add about as much. More prints and more care both help.",
}


def repeat_sentences(found: Repeatability) -> tuple[str, ...]:
    """Say what to improve first, and what prints of this printer and set-up can show."""
    first = (
        "These photographs cannot tell how much the printer adds. Photograph two prints or more of "
        "a setting."
        if found.improve is None
        else FIRST[found.improve]
    )
    leading = [n for name, n in found.numbers.items() if name in CRITERIA and n.smallest_difference]
    shown = [
        f"{100 * n.smallest_difference[PRINTS] / n.variances.mean:.1f} % of {phrase(n.name)}"
        for n in leading
        if n.variances.mean > 0
    ]
    basis = (
        f"This rests on {counted(found.photographs, 'photograph')} of "
        f"{counted(found.prints, 'print')}."
    )
    tells = f"Three prints of each setting find differences from {listed(shown)}." if shown else ""
    return tuple(filter(None, (first, tells, basis)))


def repeat_screen(model: RepeatModel) -> FirstScreen:
    """Build the first screen: what to improve first, and every number."""
    found = model.repeatability
    columns = (
        Column("Set-up", "standard deviation of a photograph, 95 % interval"),
        Column("Printer", "standard deviation of a print, 95 % interval"),
        Column("Found with 3 prints", "smallest difference, in 80 of 100 tests"),
        Column("Prints for 5 %", "a setting, one photograph each"),
    )
    return FirstScreen(
        verdict_of(model, "How well do printer and set-up repeat?", repeat_sentences(found)),
        "Criteria first. The sheet was laid and focused again for each photograph.",
        "Number",
        columns,
        tuple(_row(n) for n in found.numbers.values()),
        "repeatability of a printer and a set-up",
    )


def _row(number: NumberRepeatability) -> Row:
    shot, own = number.variances.photograph, number.variances.between
    smallest = number.smallest_difference.get(PRINTS)
    needed = number.prints_needed.get(PERCENT)
    found = "–" if smallest is None else f"{smallest:.2g}"
    unknown = number.signed or not number.smallest_difference
    prints = "–" if unknown else str(needed or "over 200")
    cells = (
        _component(shot),
        _component(own) if own.degrees else None,
        _cell(found, "", number.unit if smallest is not None else ""),
        _cell(prints, "", ""),
    )
    return Row(number.title, number.unit, "", None, cells)


def _component(part: Component) -> Cell:
    low, high = part.sd_interval
    ends = f"{low:.2g} to {high:.2g}" if isfinite(high) else f"{low:.2g} to {NO_END}"
    return _cell(f"{part.sd:.2g}", ends, f"{part.degrees:g} degrees of freedom")


def _cell(value: str, interval: str, note: str) -> Cell:
    return Cell(value, interval, note, False, 0.0, 0.0, 0.0)
