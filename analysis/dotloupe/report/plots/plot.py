"""A plot as data: what it shows, how it is drawn, its rows; and its SVG."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.report.plots.style import RC
from dotloupe.storage import cache

if TYPE_CHECKING:
    from collections.abc import Iterable
    from functools import partial

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from dotloupe.report.plots.csv_rows import Row
    from dotloupe.report.text import Caption

COLUMN_IN = 5.0
"""Width of a plot that stands in one of two columns."""
USUAL_SIZE_IN = (COLUMN_IN, 3.1)
SVG_DPI = 72
"""Dots per inch of an SVG's own unit, the point."""


@dataclass(frozen=True)
class Plot:
    """A plot of a report.

    Attributes
    ----------
    name : str
        Of its files, without ending.
    section : str
        Part of the page that it stands in.
    caption : Caption
    draw : partial
        Takes a matplotlib axis, draws the plain values that it holds, and returns the axis.
        The drawing is cached by those values.
    rows : iterable of dict
        The data behind it, one row a value.
    size_in : (float, float)
    within : (left, bottom, width, height), optional
        Where the axis stands, as shares of the figure; where what is written round it leaves room
        for it if not given, which takes a third of the time.
    """

    name: str
    section: str
    caption: Caption
    draw: partial[Axes]
    rows: Iterable[Row]
    size_in: tuple[float, float] = USUAL_SIZE_IN
    within: tuple[float, float, float, float] | None = None


@contextmanager
def drawing(width_in: float = COLUMN_IN, height_in: float = 3.1) -> Iterator[tuple[Figure, Axes]]:
    """Give a figure and its axis in this style; save it within the block.

    What a person set for plots of their own does not enter, nor how numbers are printed, of which
    an SVG's names are made: a cached plot is the same whoever draws it.
    """
    import warnings

    import numpy as np
    from matplotlib import rc_context, rcdefaults, rcParams
    from matplotlib.figure import Figure

    with rc_context(), np.printoptions(legacy=False), warnings.catch_warnings():
        rcdefaults()
        rcParams.update(RC)
        # the reader's own fonts draw the words of an SVG
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        figure = Figure(figsize=(width_in, height_in), layout="constrained")
        yield figure, figure.subplots()


def svg_text(figure: Figure) -> str:
    """Return a figure as SVG, its words as text, the same bytes for the same figure.

    It is laid out once and drawn once: `savefig` does each twice, for kinds of file that need it.
    """
    import io

    from matplotlib.backends.backend_svg import FigureCanvasSVG

    canvas = FigureCanvasSVG(figure)
    figure.set_dpi(SVG_DPI)
    engine = figure.get_layout_engine()
    if engine is not None:
        engine.execute(figure)
        figure.set_layout_engine("none")
    buffer = io.StringIO()
    unsaid = {"Date": None, "Creator": None, "Format": None, "Type": None}
    canvas.print_svg(buffer, metadata=unsaid)  # type: ignore[no-untyped-call]
    return buffer.getvalue()


def plot_key(plot: Plot) -> str:
    """Name under which a plot's drawing is kept: of what it draws, and how large."""
    return cache.cache_key(
        "plot",
        plot.draw.func.__module__,
        plot.draw.func.__qualname__,
        plot.draw.args,
        plot.draw.keywords,
        plot.size_in,
        plot.within,
        cache.library_version("matplotlib"),
    )


def draw_svg(
    draw: partial[Axes],
    size_in: tuple[float, float],
    within: tuple[float, float, float, float] | None = None,
) -> bytes:
    """Draw what a plot holds, as the bytes of an SVG file; sizes as of `Plot`."""
    with drawing(*size_in) as (figure, axis):
        draw(axis)
        if within is not None:
            figure.set_layout_engine("none")
            axis.set_position(within)
        return svg_text(figure).encode()
