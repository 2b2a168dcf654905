"""Print a picture: driver, head, ink and paper in one go, with the truth kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError
from dotloupe.simulate.calibration import calibrate
from dotloupe.simulate.driver import drive
from dotloupe.simulate.inking import lay_ink
from dotloupe.simulate.paper import LUSTRE
from dotloupe.simulate.printer import ALIGNED, FAST, PRINTER_720
from dotloupe.simulate.sheet import MARGIN_MM, PIXELS_PER_MM, Sheet, sheet_texture

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.simulate.head import Dots
    from dotloupe.simulate.paper import Paper
    from dotloupe.simulate.printer import Alignment, Mode, Printer
    from dotloupe.simulate.sheet import Window


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


def print_picture(
    picture: NDArray[np.generic],
    sent_ppi: float,
    *,
    printer: Printer = PRINTER_720,
    mode: Mode = FAST,
    alignment: Alignment = ALIGNED,
    paper: Paper = LUSTRE,
    seed: int = 0,
    pixels_per_mm: float = PIXELS_PER_MM,
    margin_mm: float = MARGIN_MM,
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
