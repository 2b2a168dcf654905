"""Results as plain text for a terminal."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from dotloupe.compare import number_title
from dotloupe.measurement import camera_said
from dotloupe.report.text.phrases import BETTER, OVERALL, listed, short, shown
from dotloupe.report.text.rounding import column_decimals, interval_text, value_text
from dotloupe.report.text.verdict import Verdict, ladder_verdict, ranking_verdict
from dotloupe.report.text.weights import overall_sentences

if TYPE_CHECKING:
    from dotloupe.compare.ladder import Ladder
    from dotloupe.compare.ranking import CriterionRanking, Ranking
    from dotloupe.measurement import Measurement

WIDTH = 78


def ranking_table(ranking: Ranking) -> str:
    """Return the ranking as text: the verdict, then every criterion, overall first."""
    order = sorted(ranking.criteria.values(), key=lambda c: c.name != OVERALL)
    blocks = [_verdict_text(ranking_verdict(ranking))]
    every = [m for group in ranking.measurements.values() for m in group]
    for criterion in (c for c in order if c.places):
        camera = camera_said(every, criterion.name)
        own = [c for c in criterion.cautions if c not in ranking.cautions]
        given = overall_sentences(ranking) if criterion.name == OVERALL else ()
        blocks.append("\n".join((_criterion_text(criterion, camera, own), *map(wrapped, given))))
    blocks.append(_cautions_text(ranking))
    return "\n\n".join(b for b in blocks if b)


def ladder_table(ladder: Ladder) -> str:
    """Return the ladder as text: the verdict, then the detail at every ppi."""
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
    heads = ("sent ppi", "value", "95 % interval", "prints", "Nyquist", "against trend")
    camera = camera_said((m for group in ladder.measurements.values() for m in group), climb.name)
    title = "; ".join(
        filter(None, (f"{climb.title}, {climb.unit}, {BETTER[climb.better]}", camera))
    )
    table = f"{title}\n{grid(heads, rows, right=(0, 1, 3, 4, 5))}"
    blocks = [_verdict_text(ladder_verdict(ladder)), table, _cautions_text(ladder)]
    return "\n\n".join(b for b in blocks if b)


def measurement_table(m: Measurement) -> str:
    """Return the numbers of one capture as text, or why it has none."""
    if not m.fit:
        return wrapped(f"{shown(m.path)}: not fit to be measured: {shown('; '.join(m.reasons))}")
    sent = "sent ppi not known" if m.sent_ppi is None else f"sent at {m.sent_ppi:g} ppi"
    rows = [
        (
            name if n.measurand is None else number_title(n.measurand),
            value_text(n.value, n.low, n.high),
            interval_text(n.value, n.low, n.high),
            n.unit,
        )
        for name, n in m.numbers.items()
    ]
    table = grid(("number", "value", "95 % interval", "unit"), rows, right=(1,))
    run = "" if m.run is None else f", run {m.run}"
    notes = [wrapped(f"  note: {shown(w)}", "        ") for w in m.warnings]
    return "\n".join((f"{shown(m.path)}{run}, {sent}", table, *notes))


def grid(heads: Sequence[str], rows: Sequence[Sequence[str]], right: Iterable[int] = ()) -> str:
    """Return columns set under their heads, with a rule between.

    Parameters
    ----------
    heads : sequence of str
    rows : sequence of sequence of str
        One entry a head.
    right : iterable of int
        Columns to be set to the right.
    """
    right = set(right)
    widths = [max(cells(row[i]) for row in (heads, *rows)) for i in range(len(heads))]

    def line(row: Sequence[str]) -> str:
        parts = []
        for i, (text, width) in enumerate(zip(row, widths, strict=True)):
            gap = " " * (width - cells(text))
            parts.append(gap + text if i in right else text + gap)
        return "  " + "  ".join(parts).rstrip()

    rule = "  " + "  ".join("─" * width for width in widths)
    return "\n".join((line(heads), rule, *map(line, rows)))


def cells(text: str) -> int:
    """Return the columns of a terminal that text takes: wide characters two, marks none."""
    wide = sum(unicodedata.east_asian_width(c) in "WF" for c in text)
    marks = sum(unicodedata.category(c) in ("Mn", "Me") for c in text)
    return len(text) + wide - marks


def wrapped(text: str, indent: str = "", width: int = WIDTH) -> str:
    """Return text broken at spaces; the lines after the first are indented."""
    lines, line = [], ""
    for word in text.split():
        if line and cells(line) + 1 + cells(word) > width:
            lines.append(line)
            line = indent + word
        else:
            line = f"{line} {word}" if line else word
    return "\n".join((*lines, line))


def _verdict_text(verdict: Verdict) -> str:
    return "\n".join((verdict.question, *map(wrapped, (*verdict.sentences, *verdict.seen))))


def _criterion_text(criterion: CriterionRanking, camera: str, cautions: Sequence[str]) -> str:
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
        for p in criterion.places
    ]
    heads = ("place", "setting", "value", "95 % interval", "prints", "not told from")
    unit = "" if criterion.unit in criterion.title else f", {criterion.unit}"
    title = f"{criterion.title}{unit}, {BETTER[criterion.better]}{camera and f'; {camera}'}"
    notes = [wrapped(f"  note: {shown(c)}", "        ") for c in cautions]
    return "\n".join((title, grid(heads, rows, right=(0, 2, 4)), *notes))


def _cautions_text(result: Any) -> str:
    lines = [wrapped(f"note: {shown(c)}", "      ") for c in result.cautions]
    lines += [
        wrapped(f"left out: {shown(o.path)}: {shown(', '.join(o.reasons))}", "      ")
        for o in result.left_out
    ]
    return "\n".join(lines)
