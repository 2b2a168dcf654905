"""What a page bears beside its patches: heading, arrow, ruler, labels and cut marks."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from dotloupe.patch.lettering import settable, width_in_sizes
from dotloupe.patch.page.layout import AROUND_MM, EDGE_MM, HEAD_MM, RULER_MM, PageLayout
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

POINTS_PER_INCH = 72
POINTS_PER_MM = POINTS_PER_INCH / MM_PER_INCH
LETTER_MM = 2.0
"""Size of the type; its capitals are 1.5 mm high."""
THIN_MM = 0.1
HALF_CUT_MARK_MM = 1.0
BENEATH_MM = 3.6
"""From a patch to the middle of its label; a photograph of 36 x 24 mm ends 2 mm below the patch."""
TICKS_MM = ((1, 1.2), (5, 2.0), (10, 3.0))
"""Spacing and length of the ruler's ticks."""
ARROW_WORDS = "paper feed"
RULER_WORDS = f"must measure {RULER_MM:.1f} mm; if not, print again at 100 %"

Point = tuple[float, float]


def furniture_pdf(layout: PageLayout, heading: str, labels: Sequence[str]) -> bytes:
    """Draw a page without its patches as a PDF of one page.

    Parameters
    ----------
    layout : PageLayout
    heading : str
        Words in its first line.
    labels : sequence of str
        Words beneath each patch, in the order of the places; places left over stay empty.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure

    width, height = (mm / MM_PER_INCH for mm in layout.paper_mm)
    figure = Figure(figsize=(width, height), dpi=POINTS_PER_INCH)
    _draw(figure, layout, heading, labels)
    file = BytesIO()
    with mpl.rc_context({"pdf.fonttype": 42}):
        figure.savefig(file, format="pdf", transparent=True, metadata={"CreationDate": None})
    return file.getvalue()


def furniture_pixels(
    layout: PageLayout, heading: str, labels: Sequence[str], ppi: float
) -> NDArray[np.uint8]:
    """Draw a page without its patches as sRGB-coded pixels, shape (rows, columns, 3).

    Parameters
    ----------
    layout, heading, labels
        As of `furniture_pdf`.
    ppi : float
        Pixels per inch.
    """
    from matplotlib.figure import Figure

    columns, rows = (round(mm / MM_PER_INCH * ppi) for mm in layout.paper_mm)
    # a hair over whole pixels: the canvas keeps the whole part of their number
    figure = Figure(figsize=((columns + 1e-3) / ppi, (rows + 1e-3) / ppi), dpi=ppi)
    _draw(figure, layout, heading, labels)
    file = BytesIO()
    figure.savefig(file, format="rgba", dpi=ppi)
    pixels = np.frombuffer(file.getbuffer(), np.uint8).reshape(rows, columns, 4)
    return pixels[..., :3].copy()


def _draw(figure: Figure, layout: PageLayout, heading: str, labels: Sequence[str]) -> None:
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set(xlim=(0, layout.paper_mm[0]), ylim=(layout.paper_mm[1], 0))
    _draw_head(axes, layout, heading)
    _draw_ruler(axes, layout)
    for label, corner_mm in zip(labels, layout.corners_mm, strict=False):
        _draw_cell(axes, layout, label, corner_mm)


def _draw_head(axes: Axes, layout: PageLayout, heading: str) -> None:
    """Arrow of the paper feed, which may be either way, and the heading on its right."""
    x, middle, half = EDGE_MM + 1.5, EDGE_MM + HEAD_MM / 2, HEAD_MM / 2 - 1
    arrow = {"arrowstyle": "<|-|>", "color": "black", "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", (x, middle - half), (x, middle + half), arrowprops=arrow)
    left = x + 2.5
    words = f"{ARROW_WORDS}     {heading}"
    _write(axes, words, (left, middle), layout.paper_mm[0] - EDGE_MM - left)


def _draw_ruler(axes: Axes, layout: PageLayout) -> None:
    start, edge = layout.ruler_mm[::-1] if layout.ruler_runs_down else layout.ruler_mm
    segments = [((start, edge), (start + RULER_MM, edge))]
    for spacing, length in TICKS_MM:
        places = np.arange(start, start + RULER_MM + spacing / 2, spacing)
        segments += [((place, edge), (place, edge + length)) for place in places]
    _rule(axes, segments, down=layout.ruler_runs_down)
    place = (start + 3, edge + TICKS_MM[-1][1] + LETTER_MM)
    _write(axes, RULER_WORDS, place, RULER_MM, down=layout.ruler_runs_down)


def _draw_cell(axes: Axes, layout: PageLayout, label: str, corner_mm: tuple[float, float]) -> None:
    """Cut marks at the corners of a patch's cell, and its label."""
    (left, top), (width, height) = corner_mm, layout.patch_mm
    for x in (left - AROUND_MM, left + width + AROUND_MM):
        for y in (top - AROUND_MM, top + height + AROUND_MM):
            across = ((x - HALF_CUT_MARK_MM, y), (x + HALF_CUT_MARK_MM, y))
            _rule(axes, [across, ((x, y - HALF_CUT_MARK_MM), (x, y + HALF_CUT_MARK_MM))])
    _write(axes, label, (left, top + height + BENEATH_MM), width + AROUND_MM - HALF_CUT_MARK_MM)


def _rule(axes: Axes, segments: list[tuple[Point, Point]], *, down: bool = False) -> None:
    """Draw thin lines; with `down`, x and y change places."""
    from matplotlib.collections import LineCollection

    lines = [[point[::-1] if down else point for point in segment] for segment in segments]
    axes.add_collection(
        LineCollection(lines, colors="black", linewidths=THIN_MM * POINTS_PER_MM), autolim=False
    )


def _write(axes: Axes, words: str, place: Point, width_mm: float, *, down: bool = False) -> None:
    """Write words that begin at a place, as many as the width holds."""
    axes.text(
        *(place[::-1] if down else place),
        _fitting(words, width_mm),
        size=LETTER_MM * POINTS_PER_MM,
        family="DejaVu Sans",
        parse_math=False,
        rotation=270 if down else 0,
        ha="center" if down else "left",
        va="top" if down else "center",
    )


def _fitting(words: str, width_mm: float) -> str:
    """As many letters as a width holds, those that cannot be set replaced."""
    shown = settable(words)
    while shown and width_in_sizes(shown) * LETTER_MM > width_mm:
        shown = shown[:-1]
    return shown
