"""Words for people on a patch, as fine cells of paper and ink."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from dotloupe.arrays import FloatArray

CELLS_PER_MM = 50


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
    width, height = round(width_mm * CELLS_PER_MM), round(height_mm * CELLS_PER_MM)
    line_height = height / len(lines)
    font = ImageFont.load_default(size=line_height * 0.72)
    image = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(image)
    for i, line in enumerate(lines):
        shown = line
        while shown and draw.textlength(shown, font=font) > width:
            shown = shown[:-1]
        draw.text((0, i * line_height), shown, fill=255, font=font)
    return 1.0 - (1.0 - ink) * np.asarray(image, dtype=float) / 255.0
