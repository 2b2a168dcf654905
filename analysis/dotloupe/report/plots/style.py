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
    "#2055d8",
    "#c56f20",
    "#7f193b",
    "#2b9a92",
    "#2d2683",
    "#c2173b",
    "#9777ed",
    "#1b7968",
)
"""Colours of the settings on a light ground.

Chosen by a search for colours that stay apart to eyes without one kind of cone, each at a contrast
of 3 to 1 or more against the ground; `SERIES_ON_DARK` are their partners of like hue.
"""

INK_ON_DARK, SOFT_INK_ON_DARK, RULE_ON_DARK, GROUND_ON_DARK = (
    "#e9e6dd",
    "#a5adb8",
    "#39414b",
    "#14181d",
)

SERIES_ON_DARK = (
    "#87aaf4",
    "#f0b82e",
    "#e43388",
    "#2af9c8",
    "#8962f9",
    "#c07e69",
    "#f3c9f3",
    "#308889",
)

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
    "timezone": "UTC",
    "xtick.color": SOFT_INK,
    "xtick.labelcolor": INK,
    "ytick.color": SOFT_INK,
    "ytick.labelcolor": INK,
}


def page_colours(*, dark: bool = False) -> dict[str, str]:
    """Colours of a page by name: ink, soft-ink, rule, ground, s1 and on."""
    if dark:
        named = (INK_ON_DARK, SOFT_INK_ON_DARK, RULE_ON_DARK, GROUND_ON_DARK)
    else:
        named = (INK, SOFT_INK, RULE, GROUND)
    series = SERIES_ON_DARK if dark else SERIES
    return {
        **dict(zip(("ink", "soft-ink", "rule", "ground"), named, strict=True)),
        **{f"s{i}": colour for i, colour in enumerate(series, start=1)},
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
    """Give a figure and its axis in this style; save it within the block.

    What a person set for plots of their own does not enter: a plot that is kept is the same
    whoever draws it.
    """
    import warnings

    from matplotlib import rc_context, rcdefaults, rcParams
    from matplotlib.figure import Figure

    with rc_context(), warnings.catch_warnings():
        rcdefaults()
        rcParams.update(RC)
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
