"""The region of pixels that a measurement is given: refused here when no number could be true."""

from __future__ import annotations

import math

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError

PILED_UP = 0.05
"""Share of pixels at exactly the lightest value from which clipping is suspected."""
SHORT_RUN_PX = 20
"""Longest mean run of such pixels in a row that noise cut off leaves."""
CUT_OFF = (1e-3, 0.1)
"""By how much, of the region's range, the pixels beside them are darker where noise is cut off."""


def checked_region(
    reflectance: FloatArray, pixels_per_mm: float, *, what: str, least_px: int = 8
) -> FloatArray:
    """Return the region as a 2-D float array, or say why nothing can be measured on it.

    Parameters
    ----------
    reflectance : ndarray of shape (h, w)
        Linear reflectance relative to the paper.
    pixels_per_mm : float
        Sampling of the region.
    what : str
        What the region should hold, for the message.
    least_px : int
        Fewest rows and columns that can be measured.

    Returns
    -------
    ndarray of shape (h, w)
        The same numbers as float64.

    Raises
    ------
    RegionError
        Not two-dimensional, too small, not finite, cut off at the light end, or a sampling that
        is not a positive number.
    """
    region = np.asarray(reflectance)
    if region.ndim != 2:
        raise RegionError(
            f"{what}: an array of {region.ndim} dimensions was given; pass one channel, (h, w)."
        )
    if not (math.isfinite(pixels_per_mm) and pixels_per_mm > 0):
        raise RegionError(f"{what}: pixels per mm must be a positive number, not {pixels_per_mm}.")
    if min(region.shape) < least_px:
        h, w = region.shape
        raise RegionError(
            f"{what}: the region has {w} x {h} pixels, at least {least_px} each way are needed; "
            "take a larger region or photograph closer."
        )
    region = region.astype(np.float64, copy=False)
    if not np.isfinite(region).all():
        raise RegionError(
            f"{what}: some pixels are not numbers; keep the region inside the photographed paper."
        )
    if _clipped(region):
        raise RegionError(
            f"{what}: the light end is clipped, many noisy pixels share one highest value; "
            "photograph with less exposure."
        )
    return region


def _clipped(region: FloatArray) -> bool:
    """Whether noise is cut off at the lightest value.

    A surface without noise, as drawn pictures have, also piles up at one value; but there the
    pixels beside are as good as equal, or belong to what is drawn. Noise cut off leaves short
    runs with pixels of many slightly darker values beside them.
    """
    top = region == region.max()
    if top.mean() < PILED_UP:
        return False
    beside = region[:, 1:][top[:, :-1] & ~top[:, 1:]]
    if len(beside) * SHORT_RUN_PX < top.sum():
        return False
    drop = (region.max() - beside) / (region.max() - region.min())
    slight = (drop > CUT_OFF[0]) & (drop < CUT_OFF[1])
    return bool(slight.mean() > 0.7 and len(np.unique(beside[slight])) > 4)
