"""Print a picture: driver, head, ink and paper in one go, with the truth kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from dotloupe.errors import InputError
from dotloupe.simulate.calibration import calibrate
from dotloupe.simulate.driver import drive
from dotloupe.simulate.halftone import MASK_SHAPE, halftone, threshold_mask
from dotloupe.simulate.head import place_dots
from dotloupe.simulate.paper import LUSTRE
from dotloupe.simulate.printer import ALIGNED, FAST, PRINTER_720
from dotloupe.simulate.rendering import ink_layers, reflect
from dotloupe.simulate.sheet import Sheet, sheet_texture

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.head import Dots
    from dotloupe.simulate.paper import Paper
    from dotloupe.simulate.printer import Alignment, Ink, Mode, Printer
    from dotloupe.simulate.sheet import Window

_STREAM_PHASE, _STREAM_FEED, _STREAM_INK = 1, 2, 10


@dataclass(frozen=True)
class Print(Sheet):
    """A simulated print and all that is true of it.

    Attributes
    ----------
    dots : tuple of Dots
        Every drop of each ink.
    printer, mode, alignment, sent_ppi
        What it was printed with.
    """

    dots: tuple[Dots, ...]
    printer: Printer
    mode: Mode
    alignment: Alignment
    sent_ppi: float

    def ink_dots(self, ink_name: str, window_mm: Window | None = None) -> Dots:
        """Drops of one ink, all or those that landed in a window."""
        found = next(d for d in self.dots if d.ink == ink_name)
        return found if window_mm is None else found.inside(window_mm)

    def plane_offset_um(self, ink_name: str) -> tuple[float, float]:
        """Mean (x, y) by which this ink's drops missed their places, less that of black.

        The alignment's offset with what the nozzles at work add; NaN where either ink has no dot.
        """
        x, y = self.ink_dots(ink_name).mean_error_um
        black_x, black_y = self.ink_dots("black").mean_error_um
        return (x - black_x, y - black_y)


class PrintSetting(TypedDict, total=False):
    """What a picture is printed with, as `print_picture` takes it."""

    printer: Printer
    mode: Mode
    alignment: Alignment
    paper: Paper


def print_picture(
    picture: NDArray[np.generic],
    sent_ppi: float,
    *,
    printer: Printer = PRINTER_720,
    mode: Mode = FAST,
    alignment: Alignment = ALIGNED,
    paper: Paper = LUSTRE,
    seed: int = 0,
    pixels_per_mm: float = 160.0,
    margin_mm: float = 1.5,
) -> Print:
    """Print a picture of 8 or 16 bits, (h, w, 3) sRGB-coded, on the invented printer.

    Parameters
    ----------
    picture : (h, w, 3) uint8 or uint16 array
        What is sent, relative to paper: white prints nothing.
    sent_ppi : float
        Its resolution, which with its shape gives its size on paper.
    seed : int
        Chance of this print: where it falls on the halftone mask and among the passes, every
        drop's error, the sheet's relief. Another seed is another print.
    pixels_per_mm : float
        Sampling of the result; 160 puts four to five pixels across a dot.
    margin_mm : float
        Blank paper kept around the picture.

    Raises
    ------
    InputError
        For a picture of another kind, or a resolution or sampling that is not positive.
    """
    if not (sent_ppi > 0 and pixels_per_mm > 0 and margin_mm >= 0):
        raise InputError(
            f"print: sent_ppi {sent_ppi:g}, pixels_per_mm {pixels_per_mm:g} and margin_mm "
            f"{margin_mm:g}: give positive numbers"
        )
    coverage = drive(picture, sent_ppi, calibrate(printer, mode, paper), printer)
    size_mm = (picture.shape[1] * 25.4 / sent_ppi, picture.shape[0] * 25.4 / sent_ppi)
    bands, dots = lay_ink(
        coverage,
        printer,
        mode,
        alignment,
        paper,
        seed=seed,
        pixels_per_mm=pixels_per_mm,
        margin_mm=margin_mm,
        size_mm=size_mm,
    )
    bands *= sheet_texture(paper, (bands.shape[1], bands.shape[2]), pixels_per_mm, seed)
    return Print(
        bands=bands,
        pixels_per_mm=pixels_per_mm,
        margin_mm=margin_mm,
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        paper=paper,
        seed=seed,
        dots=dots,
        printer=printer,
        mode=mode,
        alignment=alignment,
        sent_ppi=sent_ppi,
    )


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


_INK_PHASE = ((0, 0), (61, 97), (29, 173), (97, 41))
"""Where each ink's mask starts, so that the inks' dots fall independently of each other."""
