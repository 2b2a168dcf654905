"""Words for people on a patch, as fine cells of paper and ink."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.arrays import FloatArray

if TYPE_CHECKING:
    from PIL import ImageFont

CELLS_PER_MM = 50
LETTER_SHARE = 0.72
"""Of the height of its line."""
MISSING = "?"


def lettering_cells(
    lines: tuple[str, ...], width_mm: float, height_mm: float, ink: float
) -> FloatArray:
    """Reflectance of lines of text set from the left, shortened to the width they have.

    Parameters
    ----------
    lines : tuple of str
        Lines from top to bottom, at equal heights.
    width_mm, height_mm : float
        Size of the rectangle to fill.
    ink : float
        Linear reflectance of the letters on paper = 1.

    Returns
    -------
    ndarray of shape (height_mm * 50, width_mm * 50)
    """
    from PIL import Image, ImageDraw

    width, height = round(width_mm * CELLS_PER_MM), round(height_mm * CELLS_PER_MM)
    line_height = height / len(lines)
    image = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(image)
    for i, line in enumerate(lines):
        shown, font = _set(line, width, line_height)
        draw.text((0, i * line_height), shown, fill=255, font=font)
    return 1.0 - (1.0 - ink) * np.asarray(image, dtype=float) / 255.0


def printed_line(line: str, width_mm: float, height_mm: float) -> str:
    """Return what a line of that height holds: letters it can set, as many as fit.

    Parameters
    ----------
    line : str
    width_mm, height_mm : float
        Size of the rectangle that the line is set in.
    """
    return _set(line, round(width_mm * CELLS_PER_MM), height_mm * CELLS_PER_MM)[0]


def _set(
    line: str, width: int, height: float
) -> tuple[str, ImageFont.FreeTypeFont | ImageFont.ImageFont]:
    """Letters of a line that are set, and their font."""
    shown, font = _lettered(line, height * LETTER_SHARE)
    while shown and font.getlength(shown) > width:
        shown = shown[:-1]
    return shown, font


def _lettered(line: str, size: float) -> tuple[str, ImageFont.FreeTypeFont | ImageFont.ImageFont]:
    """Line in letters that its font has: one of Latin, Greek and Cyrillic where it is not ASCII."""
    from PIL import ImageFont

    if line.isascii():
        return line, ImageFont.load_default(size)
    return settable(line), ImageFont.truetype(str(_wide_font()), size)


def settable(line: str) -> str:
    """Line with what the font of Latin, Greek and Cyrillic does not have replaced."""
    from matplotlib.ft2font import FT2Font

    known = FT2Font(str(_wide_font())).get_charmap()
    return "".join(letter if ord(letter) in known else MISSING for letter in line)


def width_in_sizes(line: str) -> float:
    """Width of a line in that font, in sizes of its type."""
    from PIL import ImageFont

    return ImageFont.truetype(str(_wide_font()), 100).getlength(line) / 100


def _wide_font() -> Path:
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
