"""One look for every plot: colours, line patterns, marks, and the way to SVG."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, SOFT_INK, RULE, GROUND = "#1d2530", "#5b6470", "#d5d1c6", "#fcfbf7"
"""Words and curves, words of less weight, thin rules, background."""

SERIES = (
    "#1b5fae",
    "#c4521a",
    "#0c7d68",
    "#8d3a94",
    "#7d6608",
    "#4a4f9c",
    "#a8243c",
    "#4c5b66",
)
"""Colours of the settings on a light ground, each at a contrast of 3 to 1 or more against it."""

SERIES_ON_DARK = (
    "#6fb1ff",
    "#ff9a5c",
    "#3fd0b0",
    "#e093e6",
    "#d9bd45",
    "#a9aef5",
    "#ff8596",
    "#aebdca",
)
"""The same on a dark ground."""

PATTERNS: tuple[Any, ...] = (
    "-",
    (0, (6, 1.6)),
    (0, (1.6, 1.2)),
    (0, (7, 1.6, 1.6, 1.6)),
    (0, (3.5, 1.2)),
    (0, (9, 1.6, 1.6, 1.6, 1.6, 1.6)),
    (0, (1, 2.2)),
    (0, (12, 2.5)),
)
MARKS = ("o", "s", "^", "D", "v", "P", "X", "h")

RC: Any = {
    "axes.axisbelow": True,
    "axes.edgecolor": SOFT_INK,
    "axes.facecolor": "none",
    "axes.grid": True,
    "axes.labelcolor": SOFT_INK,
    "axes.linewidth": 0.7,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlesize": 10,
    "axes.titlelocation": "left",
    "date.converter": "concise",
    "figure.facecolor": GROUND,
    "font.family": "sans-serif",
    "font.size": 9,
    "grid.color": RULE,
    "grid.linewidth": 0.5,
    "legend.frameon": False,
    "lines.linewidth": 1.6,
    "savefig.facecolor": GROUND,
    "svg.fonttype": "none",
    "svg.hashsalt": "dotloupe",
    "text.color": INK,
    "text.parse_math": False,
    "xtick.color": SOFT_INK,
    "xtick.labelcolor": INK,
    "ytick.color": SOFT_INK,
    "ytick.labelcolor": INK,
}


@dataclass(frozen=True)
class Look:
    """How one setting is drawn wherever it appears."""

    colour: str
    pattern: Any
    mark: str


def look(index: int) -> Look:
    """Look of the setting at this place of the list; patterns go on where colours repeat."""
    turn = index // len(SERIES)
    return Look(
        SERIES[index % len(SERIES)],
        PATTERNS[(index + turn) % len(PATTERNS)],
        MARKS[(index + turn) % len(MARKS)],
    )


@contextmanager
def drawing(width_in: float = 6.4, height_in: float = 3.6) -> Iterator[tuple[Figure, Axes]]:
    """Give a figure and its axis in this style; save it within the block."""
    import warnings

    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(RC), warnings.catch_warnings():
        # the reader's own fonts draw the words of an SVG
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        figure = Figure(figsize=(width_in, height_in), layout="constrained")
        yield figure, figure.subplots()


def svg_text(figure: Figure) -> str:
    """Return a figure as SVG, its words as text, the same bytes for the same figure."""
    import io

    buffer = io.StringIO()
    unsaid = {"Date": None, "Creator": None, "Format": None, "Type": None}
    figure.savefig(buffer, format="svg", metadata=unsaid)
    return buffer.getvalue()
