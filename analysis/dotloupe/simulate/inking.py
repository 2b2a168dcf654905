"""Lay ink on paper: halftone each ink's coverage, land its drops, light the layers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.simulate.halftone import MASK_SHAPE, halftone, threshold_mask
from dotloupe.simulate.head import Dots, place_dots
from dotloupe.simulate.paper import Paper
from dotloupe.simulate.printer import Alignment, Ink, Mode, Printer
from dotloupe.simulate.rendering import ink_layers, reflect

_STREAM_PHASE, _STREAM_FEED, _STREAM_INK = 1, 2, 10
_INK_PHASE = ((0, 0), (61, 97), (29, 173), (97, 41))
"""Where each ink's mask starts, so that the inks' dots fall independently of each other."""


def lay_ink(
    coverage: Sequence[FloatArray],
    printer: Printer,
    mode: Mode,
    alignment: Alignment,
    paper: Paper,
    *,
    seed: int,
    pixels_per_mm: float,
    margin_mm: float,
    size_mm: tuple[float, float] | None = None,
) -> tuple[FloatArray, tuple[Dots, ...]]:
    """Halftone the coverages of the lattice by each ink, land the drops and light them.

    Returns the reflectance (3, h, w) without the paper's relief, and the dots. `size_mm` is the
    width and height of the picture where they differ from the lattice's by its rounding.
    """
    rows, cols = coverage[0].shape
    if size_mm is None:
        size_mm = (cols * printer.pitch_x_um / 1000.0, rows * printer.pitch_y_um / 1000.0)
    shape = (
        round((size_mm[1] + 2.0 * margin_mm) * pixels_per_mm),
        round((size_mm[0] + 2.0 * margin_mm) * pixels_per_mm),
    )
    phases = np.random.default_rng([seed, _STREAM_PHASE])
    first_row = int(phases.integers(0, printer.nozzles_per_ink * printer.rows_interlaced))
    first = phases.integers(0, MASK_SHAPE, size=2)
    mask = threshold_mask(printer.dots_per_inch_x / printer.dots_per_inch_y)
    dots: list[Dots] = []

    def planes() -> Iterator[tuple[Ink, FloatArray]]:
        for number, ink in enumerate(printer.inks):
            phase = (int(first[0]) + _INK_PHASE[number][0], int(first[1]) + _INK_PHASE[number][1])
            dots.append(
                place_dots(
                    halftone(coverage[number], mask, phase),
                    number,
                    printer,
                    mode,
                    alignment,
                    first_row=first_row,
                    rng=np.random.default_rng([seed, _STREAM_INK + number]),
                    feed_rng=np.random.default_rng([seed, _STREAM_FEED]),
                )
            )
            if dots[-1].count:
                yield ink, ink_layers(dots[-1], printer, shape, pixels_per_mm, margin_mm)

    return reflect(planes(), paper, shape, pixels_per_mm), tuple(dots)
