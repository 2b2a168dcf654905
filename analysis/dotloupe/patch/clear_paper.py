"""Where a patch shows clear paper."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import scipy

from dotloupe.arrays import FloatArray
from dotloupe.patch.corner_marks import LAST_RUN, PatchKind
from dotloupe.patch.patch import Patch
from dotloupe.units import MM_PER_INCH

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
    as_drawn = _clear_paper_mm(patch.kind, patch.sent_ppi)
    return as_drawn if patch.scale == 1 else as_drawn * patch.scale


@lru_cache(maxsize=16)
def _clear_paper_mm(kind: PatchKind, sent_ppi: int) -> FloatArray:
    """Clear paper of every run: marks and code left out, the longest number drawn."""
    pitch_mm = MM_PER_INCH / SURVEY_PPI
    patch = Patch(sent_ppi, LAST_RUN, kind=kind)
    white = np.all(patch.reflectance(SURVEY_PPI) > 0.999, axis=2)
    for region in patch.regions.values():
        if region.kind in ("mark", "code", "picture"):
            (left, top), _, (right, bottom), _ = np.array(region.corners_mm) / pitch_mm
            white[int(top) : int(bottom) + 1, int(left) : int(right) + 1] = False
    clear = scipy.ndimage.minimum_filter(white, size=2 * round(CLEARANCE_MM / pitch_mm) + 1, cval=0)
    step = round(SPACING_MM / pitch_mm)
    distinct = np.zeros_like(clear)
    for row, column in ((0, 0), (step // 2, step // 2)):
        distinct[row::step, column::step] = clear[row::step, column::step]
    rows, columns = np.nonzero(distinct)
    points = np.column_stack([columns + 0.5, rows + 0.5]) * pitch_mm
    points.setflags(write=False)
    return points
