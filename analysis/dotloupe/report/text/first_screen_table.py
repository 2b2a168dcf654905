"""The first screen of a report: question, verdict, and the table that it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.number import OVERALL
from dotloupe.report.text.phrases import (
    BETTER,
    camera_text,
    counted,
    listed,
    phrase,
    quoted,
    sentence,
)
from dotloupe.report.text.rounding import column_decimals, interval_text, value_text
from dotloupe.report.text.verdict import Verdict, ladder_verdict, ranking_verdict

if TYPE_CHECKING:
    from dotloupe.compare.ladder import CriterionLadder
    from dotloupe.compare.ranking import CriterionRanking, Ranking
    from dotloupe.report.model import (
        LadderModel,
        RankingModel,
        ReportModel,
        Setting,
    )


@dataclass(frozen=True)
class Column:
    """Head of a column: title, and what its numbers are."""

    title: str
    note: str


@dataclass(frozen=True)
class Cell:
    """One number of the table.

    Attributes
    ----------
    value, interval : str
    note : str
        "ahead", "tied with ..." or the like.
    leads : bool
        Ahead of all others, beyond what prints vary.
    start, end, at : float
        Ends of the interval and the value, in per cent of the column's span.
    """

    value: str
    interval: str
    note: str
    leads: bool
    start: float
    end: float
    at: float


@dataclass(frozen=True)
class Row:
    """One setting, or one event, which has no `index`."""

    name: str
    note: str
    place: str
    index: int | None
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True)
class FirstScreen:
    """Everything of the first screen."""

    verdict: Verdict
    caption: str
    head: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    kind: str = "comparison of prints"


def ranking_screen(model: RankingModel) -> FirstScreen:
    """Build the first screen of a ranking: who prints better, and every criterion."""
    ranking = model.ranking
    found = sorted(
        (c for c in ranking.criteria.values() if c.places), key=lambda c: c.name != OVERALL.name
    )
    cells = [_places(c) for c in found]
    overall = _overall_places(model)
    rows = tuple(_row(s, cells, str(overall.get(s.name, ""))) for s in standing(model))
    return FirstScreen(
        ranking_verdict(model),
        _caption(ranking),
        "Setting",
        _columns(found, model),
        rows,
    )


def standing(model: RankingModel) -> tuple[Setting, ...]:
    """Settings by their overall place; those that share one, or have none, in the order given."""
    overall = _overall_places(model)
    last = len(overall) + 1
    return tuple(sorted(model.settings, key=lambda s: (overall.get(s.name, last), s.index)))


def _overall_places(model: RankingModel) -> dict[str, int]:
    return {p.setting: p.place for p in model.ranking.criteria[OVERALL.name].places}


def _caption(ranking: Ranking) -> str:
    if ranking.scope == "prints":
        return (
            "One print of each, with the 95 % interval of its measurement. Another print of the "
            "same setting may lie outside. Tied: their measurement does not distinguish them."
        )
    zero = " Overall is zero at the mean of the last setting."
    return (
        "Means of the prints with their 95 % intervals. Tied: these prints do not distinguish them."
        f"{zero if ranking.overall is not None else ''}"
    )


def ladder_screen(model: LadderModel) -> FirstScreen:
    """Build the first screen of a ladder: how much is enough, and every criterion by ppi."""
    ladder = model.ladder
    found = sorted(ladder.criteria.values(), key=lambda c: c.name != ladder.criterion)
    cells = [_rungs(c) for c in found]
    rows = tuple(_row(s, cells, "") for s in model.settings)
    return FirstScreen(
        ladder_verdict(model),
        "Means of the prints with their 95 % intervals.",
        "File sent",
        _columns(found, model),
        rows,
    )


def _columns(
    found: Sequence[CriterionRanking | CriterionLadder], model: ReportModel
) -> tuple[Column, ...]:
    columns = []
    for c in found:
        said = (c.unit, BETTER[c.better], camera_text(model.camera(c.name)))
        columns.append(Column(sentence(phrase(c.name, c.title)), ", ".join(filter(None, said))))
    return tuple(columns)


def _row(setting: Setting, cells: Sequence[dict[str, Cell]], place: str) -> Row:
    own = tuple(column.get(setting.name) for column in cells)
    prints = counted(len(setting.prints()), "print")
    return Row(setting.name, prints, place, setting.index, own)


def _places(criterion: CriterionRanking) -> dict[str, Cell]:
    low, high = min(p.low for p in criterion.places), max(p.high for p in criterion.places)
    places = column_decimals((p.value, p.low, p.high) for p in criterion.places)
    cells = {}
    for p in criterion.places:
        note = "ahead" if p.place == 1 else ""
        if p.tied_with:
            note = f"tied with {listed(quoted(s) for s in p.tied_with)}"
        leads = p.place == 1 and not p.tied_with
        cells[p.setting] = _cell(
            p.value, (p.low, p.high), (low, high), note, places=places, leads=leads
        )
    return cells


def _rungs(climb: CriterionLadder) -> dict[str, Cell]:
    low, high = min(r.low for r in climb.rungs), max(r.high for r in climb.rungs)
    places = column_decimals((r.value, r.low, r.high) for r in climb.rungs)
    outstanding = {
        d.sent_ppi: f"stands out by {d.percent:+.1f} %" for d in climb.departures if d.outstanding
    }
    return {
        f"{r.sent_ppi:g} ppi": _cell(
            r.value,
            (r.low, r.high),
            (low, high),
            outstanding.get(r.sent_ppi, ""),
            places=places,
            leads=False,
        )
        for r in climb.rungs
    }


def _cell(
    value: float,
    interval: tuple[float, float],
    span: tuple[float, float],
    note: str,
    *,
    places: int,
    leads: bool,
) -> Cell:
    width = span[1] - span[0]
    usable = 0 < width < float("inf")
    start, end, at = (
        round(100 * (v - span[0]) / width, 1) if usable else 0.0 for v in (*interval, value)
    )
    return Cell(
        value_text(value, *interval, places),
        interval_text(value, *interval, places),
        note,
        leads,
        start,
        max(end, start + 0.6),
        at,
    )
