"""One look for every plot: colours, line patterns and marks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

from dotloupe.report.text import short

if TYPE_CHECKING:
    from dotloupe.report.model import Setting

Pattern: TypeAlias = str | tuple[float, tuple[float, ...]]
"""A line pattern as matplotlib takes it."""

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

PATTERNS: tuple[Pattern, ...] = (
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
    """How one setting is drawn and labelled wherever it appears."""

    label: str
    colour: str
    pattern: Pattern
    mark: str


def look_of(setting: Setting) -> Look:
    """Look of a setting by its position; patterns and marks go on where colours repeat."""
    index = setting.index
    turn = index // len(SERIES)
    return Look(
        short(setting.name),
        SERIES[index % len(SERIES)],
        PATTERNS[(index + turn) % len(PATTERNS)],
        MARKS[(index + turn) % len(MARKS)],
    )


def colour_number(index: int) -> int:
    """Number, from 1, of the page's colour of the setting at this position."""
    return index % len(SERIES) + 1
