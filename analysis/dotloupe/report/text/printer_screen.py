"""The first screen of a printer's history: the verdict, and the table that it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan
from typing import TYPE_CHECKING

from dotloupe.compare.history import State
from dotloupe.report.text.first_screen_table import Cell, Column, FirstScreen, Row
from dotloupe.report.text.phrases import counted, sentence
from dotloupe.report.text.rounding import interval_text, value_text
from dotloupe.report.text.trend import STATES, baseline_text, event_outcome, number_phrase
from dotloupe.report.text.verdict import basis_text, history_verdict

if TYPE_CHECKING:
    from dotloupe.compare.history import EventStep, Trend
    from dotloupe.report.model import HistoryModel

KIND = "history of a printer"
UNMOVED = (State.STEADY, State.NO_BASELINE)
"""States of numbers that the first screen leaves to the time lines below it."""


def history_screen(model: HistoryModel) -> FirstScreen:
    """Build the first screen of a history: the numbers, or what each event did to one."""
    return _event_screen(model) if model.head is None else _number_screen(model)


def _number_screen(model: HistoryModel) -> FirstScreen:
    moved = [t for t in model.trends if t.state not in UNMOVED]
    columns = (
        Column("Baseline", "mean of its prints"),
        Column("Latest", "mean of the last day's prints"),
        Column("Change", "95 % interval"),
    )
    return FirstScreen(
        history_verdict(model),
        f"{basis_text(model)}. {_unmoved_text(model.trends)}".strip(),
        "Number",
        columns,
        tuple(_number_row(t) for t in moved),
        KIND,
    )


def _unmoved_text(trends: Sequence[Trend]) -> str:
    steady = sum(t.state is State.STEADY for t in trends)
    alone = sum(t.state is State.NO_BASELINE for t in trends)
    said = []
    if steady:
        said.append(f"{counted(steady, 'number')} did not change.")
    if alone:
        said.append(f"{counted(alone, 'number')} cannot be compared yet.")
    return " ".join(said)


def _number_row(trend: Trend) -> Row:
    latest, change = trend.latest, trend.change
    low, high = (nan if end is None else end for end in (latest.low, latest.high))
    now = _cell(value_text(latest.value, low, high), "", counted(latest.n, "print"))
    name, unit = sentence(trend.title), trend.unit
    if change is None or trend.baseline is None:
        return Row(name, unit, "", None, (None, now, _cell("–", "", STATES[trend.state])))
    ends = (change.low, change.high)
    before = value_text(trend.baseline.centre, low, high)
    return Row(
        name,
        unit,
        "",
        None,
        (
            _cell(before, "", baseline_text(trend)),
            now,
            _cell(
                value_text(change.difference, *ends),
                interval_text(change.difference, *ends),
                STATES[trend.state],
            ),
        ),
    )


def _event_screen(model: HistoryModel) -> FirstScreen:
    trend = model.trends[0]
    columns = (
        Column("Before", trend.unit),
        Column("After", trend.unit),
        Column("Change", f"{trend.unit}, 95 % interval"),
    )
    return FirstScreen(
        history_verdict(model),
        f"{sentence(number_phrase(trend))} before and after what was done to the printer, up to "
        "the events on either side.",
        "Event",
        columns,
        tuple(_event_row(step) for step in trend.event_steps),
        KIND,
    )


def _event_row(step: EventStep) -> Row:
    change = step.step
    low, high = (nan if end is None else end for end in (change.low, change.high))
    cells = (
        _cell(value_text(step.before, low, high), "", counted(step.n_before, "print")),
        _cell(value_text(step.after, low, high), "", counted(step.n_after, "print")),
        Cell(
            value_text(change.difference, low, high),
            interval_text(change.difference, low, high),
            event_outcome(step),
            step.better is True,
            0.0,
            0.0,
            0.0,
        ),
    )
    name = f"{step.event.kind}, {step.event.happened_on}"
    return Row(sentence(name), step.event.note, "", None, cells)


def _cell(value: str, interval: str, note: str) -> Cell:
    return Cell(value, interval, note, False, 0.0, 0.0, 0.0)
