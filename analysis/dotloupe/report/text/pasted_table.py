"""The table of the first screen as Markdown, to be pasted into an article."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.phrases import shown

if TYPE_CHECKING:
    from dotloupe.report.text.first_screen_table import Cell, FirstScreen


def markdown_table(first: FirstScreen) -> str:
    """Return the question, its answer and the table; where data are simulated, that first.

    Parameters
    ----------
    first : FirstScreen
    """
    verdict = first.verdict
    said = [verdict.notice, f"**{_plain(verdict.question)}** {' '.join(verdict.sentences)}"]
    parts = [part for part in said if part]
    if first.rows:
        heads = [
            first.head,
            *(f"{c.title} ({c.note})" if c.note else c.title for c in first.columns),
        ]
        lines = [_line(heads), _line(["---"] * len(heads))]
        lines += [_line([row.name, *map(_cell, row.cells)]) for row in first.rows]
        parts += ["\n".join(lines), first.caption]
    return "\n\n".join((*parts, *(f"- {limit}" for limit in verdict.limits))) + "\n"


def _cell(cell: Cell | None) -> str:
    if cell is None:
        return "no value"
    return f"{cell.value} ({cell.interval})" if cell.interval else cell.value


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(map(_plain, cells))} |"


def _plain(text: str) -> str:
    """Text that Markdown shows as it is."""
    return "".join(f"\\{c}" if c in "\\`*_|<>[]" else c for c in shown(text))
