"""One picture of a result, as links to a page show it: question, answer, and the first column."""

from __future__ import annotations

import io
import textwrap
from typing import TYPE_CHECKING

from dotloupe.report.plots.plot import drawing
from dotloupe.report.plots.style import INK, RULE, SERIES, SOFT_INK, colour_number
from dotloupe.storage import cache

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from dotloupe.report.text import FirstScreen

SIZE_PX = (1200, 630)
"""Of the picture that a link to a page is shown with (Open Graph, common practice, no source)."""
DPI = 100
MOST_ROWS = 5
LETTERS_A_LINE = 52, 88
"""Of the question and of the answer."""
MOST_LINES = 2, 4
LEFT, BARS_FROM, RIGHT = 0.05, 0.62, 0.95


def summary_key(first: FirstScreen) -> str:
    """Name under which a result's picture is kept: of its words."""
    return cache.cache_key("summary", first, cache.library_version("matplotlib"))


def draw_summary(first: FirstScreen) -> bytes:
    """Draw question, answer and the first settings of the table.

    Returns
    -------
    bytes
        PNG of 1200 x 630 pixels.
    """
    buffer = io.BytesIO()
    with drawing(SIZE_PX[0] / DPI, SIZE_PX[1] / DPI) as (figure, axis):
        figure.set_layout_engine("none")
        axis.set_position((0, 0, 1, 1))
        axis.set_axis_off()
        axis.set(xlim=(0, 1), ylim=(0, 1))
        verdict = first.verdict
        top = 0.93
        if verdict.notice:
            axis.text(
                LEFT, top, verdict.notice, color=SERIES[5], fontsize=15, va="top", weight="bold"
            )
            top -= 0.08
        top = _paragraph(axis, verdict.question, top, 0, size=24, weight="bold")
        top = _paragraph(axis, " ".join(verdict.sentences), top - 0.02, 1, size=16)
        _draw_first_column(axis, first, top - 0.03)
        axis.text(RIGHT, 0.03, "dotloupe", color=SOFT_INK, fontsize=12, ha="right")
        figure.savefig(buffer, format="png", dpi=DPI, metadata={"Software": None})
    return buffer.getvalue()


def _paragraph(
    axis: Axes, words: str, top: float, kind: int, *, size: float, weight: str = "normal"
) -> float:
    """Write words and return how far down they reach."""
    text = textwrap.shorten(words, LETTERS_A_LINE[kind] * MOST_LINES[kind], placeholder=" …")
    lines = textwrap.wrap(text, LETTERS_A_LINE[kind])[: MOST_LINES[kind]]
    axis.text(
        LEFT,
        top,
        "\n".join(lines),
        color=INK,
        fontsize=size,
        va="top",
        weight=weight,
        linespacing=1.25,
    )
    return top - len(lines) * size * 1.25 * DPI / 72 / SIZE_PX[1] - 0.02


def _draw_first_column(axis: Axes, first: FirstScreen, top: float) -> None:
    """Name, value and interval of each setting, the intervals on one scale."""
    drawn = [
        (row.index, row.name, cell)
        for row in first.rows[:MOST_ROWS]
        if row.index is not None and (cell := row.cells[0]) is not None
    ]
    if not drawn:
        return
    column = first.columns[0]
    title = f"{column.title}, {column.note}" if column.note else column.title
    axis.text(LEFT, top, title, color=SOFT_INK, fontsize=14, va="top")
    step = min(0.085, (top - 0.15) / len(drawn))
    start, width = BARS_FROM, RIGHT - BARS_FROM
    for number, (index, name, cell) in enumerate(drawn, start=1):
        y = top - 0.035 - number * step
        colour = SERIES[colour_number(index) - 1]
        axis.plot([start, RIGHT], [y, y], color=RULE, lw=1)
        ends = [start + width * at / 100 for at in (cell.start, cell.end)]
        axis.plot(ends, [y, y], color=colour, lw=7, alpha=0.45, solid_capstyle="butt")
        axis.plot(start + width * cell.at / 100, y, "o", color=colour, ms=11)
        label = textwrap.shorten(name, 34, placeholder=" …")
        axis.text(LEFT, y, label, color=INK, fontsize=17, va="center")
        axis.text(start - 0.02, y, cell.value, color=INK, fontsize=17, va="center", ha="right")
