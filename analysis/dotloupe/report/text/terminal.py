"""Results as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import StringIO
from textwrap import fill
from typing import TYPE_CHECKING

from dotloupe.compare import DifferenceVerdict
from dotloupe.number import CRITERIA, OVERALL
from dotloupe.report.text.cautions import caution_text, caution_texts
from dotloupe.report.text.effects import effects_sentences, leading_first
from dotloupe.report.text.effects_rows import EFFECT_HEADS, INTERACTION_HEADS, effect_tables
from dotloupe.report.text.first_screen_table import Row, standing
from dotloupe.report.text.limits import notes
from dotloupe.report.text.phrases import (
    BETTER,
    camera_cost_text,
    camera_source_text,
    camera_text,
    listed,
    sentence,
    short,
    shown,
)
from dotloupe.report.text.printer_screen import history_screen
from dotloupe.report.text.repeat import repeat_screen
from dotloupe.report.text.rounding import column_decimals, interval_text, value_text
from dotloupe.report.text.verdict import (
    Verdict,
    effects_verdict,
    ladder_verdict,
    ranking_verdict,
)
from dotloupe.report.text.weights import overall_sentences

if TYPE_CHECKING:
    from dotloupe.cautions import Caution
    from dotloupe.compare.ranking import CriterionRanking
    from dotloupe.measurement import Measurement
    from dotloupe.report.model import (
        EffectsModel,
        HistoryModel,
        LadderModel,
        RankingModel,
        RepeatModel,
        ReportModel,
    )
    from dotloupe.report.text.difference_table import Differences

WIDTH = 78
INTERVAL = "95 % interval"


def ranking_table(model: RankingModel) -> str:
    """Return the ranking as text: the verdict, then every criterion, overall first."""
    ranking = model.ranking
    order = sorted(ranking.criteria.values(), key=lambda c: c.name != OVERALL.name)
    blocks = [_verdict_text(ranking_verdict(model))]
    names = [setting.name for setting in standing(model)]
    for criterion in (c for c in order if c.places):
        camera = camera_text(model.camera(criterion.name))
        own = [c for c in criterion.cautions if c not in ranking.cautions]
        given = overall_sentences(ranking) if criterion.name == OVERALL.name else ()
        text = _criterion_text(criterion, camera, own, names)
        blocks.append("\n".join((text, *map(wrapped, given))))
    blocks.append(_cautions_text(model))
    return "\n\n".join(b for b in blocks if b)


def ladder_table(model: LadderModel) -> str:
    """Return the ladder as text: the verdict, then the detail at every ppi."""
    ladder = model.ladder
    climb = ladder.leading
    departures = {d.sent_ppi: d for d in climb.departures}
    places = column_decimals((r.value, r.low, r.high) for r in climb.rungs)
    rows = []
    for rung in climb.rungs:
        departure = departures.get(rung.sent_ppi)
        against = "" if departure is None else f"{departure.percent:+.1f} %"
        rows.append(
            (
                f"{rung.sent_ppi:g}",
                value_text(rung.value, rung.low, rung.high, places),
                interval_text(rung.value, rung.low, rung.high, places),
                str(rung.n),
                f"{rung.nyquist:.2f}",
                against + (" stands out" if departure and departure.outstanding else ""),
            )
        )
    heads = ("sent ppi", "value", INTERVAL, "prints", "Nyquist", "against trend")
    camera = camera_text(model.camera(climb.name))
    title = "; ".join(
        filter(None, (f"{climb.title}, {climb.unit}, {BETTER[climb.better]}", camera))
    )
    table = f"{title}\n{_grid(heads, rows, right=(0, 1, 3, 4, 5))}"
    blocks = [_verdict_text(ladder_verdict(model)), table, _cautions_text(model)]
    return "\n\n".join(b for b in blocks if b)


def history_table(model: HistoryModel) -> str:
    """Return a history as text: the verdict, then what moved, or one number's prints."""
    screen = history_screen(model)
    blocks = [_verdict_text(screen.verdict)]
    if model.head is None:
        trend = model.trends[0]
        values = (f"  {p.printed_on}  {p.value:#.4g} {trend.unit}" for p in trend.points)
        blocks.append("\n".join((sentence(trend.title), *values)))
    if screen.rows:
        blocks.append(wrapped(screen.caption))
        heads = (screen.head, *(c.title.lower() for c in screen.columns), INTERVAL, "")
        blocks.append(_grid(heads, [_history_row(row) for row in screen.rows], right=(1, 2, 3)))
    blocks.append(_cautions_text(model))
    return "\n\n".join(b for b in blocks if b)


def effects_table(model: EffectsModel) -> str:
    """Return effects as text: the verdict, then for every criterion the words and the numbers."""
    effects = model.effects
    blocks = [_verdict_text(effects_verdict(model))]
    for criterion in leading_first(effects):
        tables = effect_tables(effects, criterion)
        unit = "" if criterion.unit in criterion.title else f", {criterion.unit}"
        own = [c for c in criterion.cautions if c not in effects.cautions]
        blocks.append(f"{criterion.title}{unit}, {BETTER[criterion.better]}")
        blocks.append(wrapped(" ".join(effects_sentences(effects, criterion))))
        blocks.append(_grid(EFFECT_HEADS, tables.effects, right=(2, 4)))
        if tables.interactions:
            blocks.append(_grid(INTERACTION_HEADS, tables.interactions, right=(1,)))
        blocks += [wrapped(f"  note: {shown(c)}", "        ") for c in caution_texts(own)]
    blocks.append(_cautions_text(model))
    return "\n\n".join(b for b in blocks if b)


def _history_row(row: Row) -> tuple[str, ...]:
    before, after, change = row.cells
    values = ("" if cell is None else cell.value for cell in (before, after, change))
    name = f"{row.name}, {row.note}" if row.note else row.name
    interval, note = ("", "") if change is None else (change.interval, change.note)
    return (shown(name), *values, interval, note)


def repeat_table(model: RepeatModel) -> str:
    """Return a repeatability as text: what to improve first, then the criteria."""
    screen = repeat_screen(model)
    criteria = {n.title for name, n in model.repeatability.numbers.items() if name in CRITERIA}
    rows = [
        (
            shown(f"{row.name}, {row.note}"),
            *("–" if cell is None else cell.value for cell in row.cells),
        )
        for row in screen.rows
        if row.name in criteria or not criteria
    ]
    heads = ("standard deviations", *(c.title.lower() for c in screen.columns))
    blocks = [_verdict_text(screen.verdict), _grid(heads, rows, right=(1, 2, 3, 4))]
    return "\n\n".join(b for b in (*blocks, _cautions_text(model)) if b)


def differences_text(found: Differences) -> str:
    """Return what else differs between two settings, and what is too uncertain to say."""
    rows = [
        (d.title, *d.values, d.unit, d.difference, d.verdict)
        for d in found.rows
        if d.found is not DifferenceVerdict.EQUAL
    ]
    first, second = (short(s, 12) for s in found.settings)
    heads = ("number", first, second, "unit", f"second − first, {INTERVAL}", "verdict")
    table = _grid(heads, rows, right=(1, 2)) if rows else ""
    return "\n".join(filter(None, (wrapped(found.sentence), table)))


def measurement_table(m: Measurement) -> str:
    """Return the numbers of one capture as text, or why it has none."""
    if not m.fit:
        reasons = "; ".join(map(caution_text, m.reasons))
        return wrapped(f"{shown(m.path)}: not fit to be measured: {shown(reasons)}")
    sent = "sent ppi not known" if m.sent_ppi is None else f"sent at {m.sent_ppi:g} ppi"
    rows = [
        (
            name if n.measurand is None else n.measurand.title,
            value_text(n.value, n.low, n.high),
            interval_text(n.value, n.low, n.high),
            n.unit,
        )
        for name, n in m.numbers.items()
    ]
    table = _grid(("number", "value", INTERVAL, "unit"), rows, right=(1,))
    run = "" if m.run is None else f", run {m.run}"
    camera = camera_text(m.parameters.camera) + camera_source_text(m.parameters)
    cost = "" if m.camera_cost_percent is None else camera_cost_text(m.camera_cost_percent)
    known = filter(None, (*map(caution_text, m.warnings), camera, cost))
    notes = [wrapped(f"  note: {shown(note)}", "        ") for note in known]
    return "\n".join((f"{shown(m.path)}{run}, {sent}", table, *notes))


def wrapped(text: str, indent: str = "") -> str:
    """Return text broken at spaces for a terminal; the lines after the first are indented."""
    words = " ".join(text.split())
    return fill(
        words,
        WIDTH,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _grid(heads: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Return a table as text; the columns of `right` are set to the right.

    Numbers are never broken or cut: where the width is short, words wrap within their column.
    """
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1))
    for number, head in enumerate(heads):
        numeric = number in right or head == INTERVAL
        table.add_column(
            head, justify="right" if number in right else "left", no_wrap=numeric, overflow="fold"
        )
    for row in rows:
        table.add_row(*map(Text, row))
    console = Console(file=StringIO(), width=WIDTH, color_system=None)
    with console.capture() as captured:
        console.print(table)
    lines = captured.get().splitlines()
    return "\n".join(f"  {line}".rstrip() for line in lines)


def _verdict_text(verdict: Verdict) -> str:
    """Return the notice, the question, the answer with its limits, and what the eye sees."""
    answer = " ".join(verdict.sentences)
    seen = ("Can it be seen?", " ".join(verdict.seen)) if verdict.seen else ()
    limits = (wrapped(f"note: {said}", "      ") for said in verdict.limits)
    first = "\n".join((*map(wrapped, (verdict.question, answer)), *limits))
    return "\n\n".join(
        filter(None, (wrapped(verdict.notice), first, "\n".join(map(wrapped, seen))))
    )


def _criterion_text(
    criterion: CriterionRanking, camera: str, cautions: Sequence[Caution], names: Sequence[str]
) -> str:
    """Return one criterion as a table, settings that share a place in the order of `names`."""
    places = column_decimals((p.value, p.low, p.high) for p in criterion.places)
    rows = [
        (
            str(p.place),
            short(p.setting),
            value_text(p.value, p.low, p.high, places),
            interval_text(p.value, p.low, p.high, places),
            str(p.n),
            listed(short(s, 18) for s in p.tied_with) or "",
        )
        for p in sorted(
            criterion.places,
            key=lambda p: (p.place, names.index(p.setting)),
        )
    ]
    heads = ("place", "setting", "value", INTERVAL, "prints", "tied with")
    unit = "" if criterion.unit in criterion.title else f", {criterion.unit}"
    title = f"{criterion.title}{unit}, {BETTER[criterion.better]}{camera and f'; {camera}'}"
    notes = [wrapped(f"  note: {shown(c)}", "        ") for c in caution_texts(cautions)]
    return "\n".join((title, _grid(heads, rows, right=(0, 2, 4)), *notes))


def _cautions_text(model: ReportModel) -> str:
    lines = [wrapped(f"note: {shown(c)}", "      ") for c in caution_texts(notes(model.cautions))]
    lines += [
        wrapped(
            f"left out: {shown(o.path)}: {shown(', '.join(map(caution_text, o.reasons)))}", "      "
        )
        for o in model.left_out
    ]
    return "\n".join(lines)
