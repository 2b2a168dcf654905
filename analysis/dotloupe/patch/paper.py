"""Where a patch shows clear paper."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import minimum_filter

from dotloupe.arrays import FloatArray
from dotloupe.patch.geometry import MM_PER_INCH
from dotloupe.patch.patch import Patch

CLEARANCE_MM = 0.2
SPACING_MM = 0.4
SURVEY_PPI = 400


def clear_paper_mm(patch: Patch) -> FloatArray:
    """Points of a patch where nothing is printed within 0.2 mm.

    Returns
    -------
    ndarray of shape (n, 2)
        Points (x, y) in mm, about 0.4 mm apart.
    """
    pitch_mm = MM_PER_INCH / SURVEY_PPI
    white = np.all(patch.reflectance(SURVEY_PPI) > 0.999, axis=2)
    clear = minimum_filter(white, size=2 * round(CLEARANCE_MM / pitch_mm) + 1, cval=0)
    step = round(SPACING_MM / pitch_mm)
    distinct = np.zeros_like(clear)
    for row, column in ((0, 0), (step // 2, step // 2)):
        distinct[row::step, column::step] = clear[row::step, column::step]
    rows, columns = np.nonzero(distinct)
    return np.column_stack([columns + 0.5, rows + 0.5]) * pitch_mm
