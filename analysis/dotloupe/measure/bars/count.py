"""The number of bars in a region that little paper surrounds, or none."""

from __future__ import annotations

import math

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.bars.profile import fitted_bars

BEYOND = 3
"""Bars that are drawn on beyond a region that bars fill."""
CLEARLY_BETTER = 0.5
"""Misfit of bars on paper, over that of bars from side to side, up to which paper is seen."""


def bars_on_paper(
    position: FloatArray, profile: FloatArray, bar: float, period_px: float
) -> int | None:
    """Count the bars of a group with paper beside both its ends.

    On each side the bars may go on beyond the region, end with the outermost bar of the comb
    that lies in it, or leave that one out. The best fit to the profile decides.

    Parameters
    ----------
    position, profile : ndarray of shape (n,)
        Columns of the region and the mean reflectance across the bars there.
    bar : float
        Column of one bar's centre.
    period_px : float

    Returns
    -------
    int or None
        None where the bars fill the region from side to side.

    Raises
    ------
    RegionError
        The bars end within the region on one side alone.
    """
    low = math.ceil((position[0] - 0.5 - bar) / period_px)
    high = math.floor((position[-1] + 0.5 - bar) / period_px)
    misfit = {
        (first, last): fitted_bars(
            position, profile, bar, period_px, np.arange(first, last + 1.0)
        ).misfit
        for first in (low - BEYOND, low, low + 1)
        for last in (high + BEYOND, high, high - 1)
        if last > first
    }
    first, last = min(misfit, key=lambda ends: misfit[ends])
    if misfit[first, last] > CLEARLY_BETTER * misfit[low - BEYOND, high + BEYOND]:
        return None
    if first < low or last > high:
        raise RegionError(
            "line pairs: the bars end within the region on one side and not on the other; "
            "take the whole group with paper around it, or crop the region inside the bars."
        )
    return last - first + 1
