"""Whether a region of pixels is an even tint that grain may be measured on."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import scipy

from dotloupe.arrays import FloatArray, IntArray
from dotloupe.errors import RegionError
from dotloupe.measure.wave import coarser

TILE_MM = 1.27
"""Side of a tile in the hardcopy standards: the least a tint must measure."""

LUMINANCE_WEIGHTS = (0.2126, 0.7152, 0.0722)
"""Share of linear red, green and blue in luminance, primaries of ITU-R BT.709."""


def luminance(reflectance: FloatArray) -> FloatArray:
    """Luminance factor of linear (h, w, 3) RGB; an (h, w) array comes back as it is."""
    array = np.asarray(reflectance)
    if array.ndim == 3 and array.shape[2] == 3:
        return np.asarray(array @ np.asarray(LUMINANCE_WEIGHTS, dtype=array.dtype))
    if array.ndim != 2:
        raise RegionError(
            f"a tint must be an array of rows and columns, or of those by 3 linear colours, "
            f"but this one has the shape {array.shape}"
        )
    return array


def checked_tint(
    reflectance: FloatArray, pixels_per_mm: float, *, name: str = "tint"
) -> FloatArray:
    """Return the luminance of a region after making sure that it holds one even tint.

    Parameters
    ----------
    reflectance : ndarray, shape (h, w) or (h, w, 3)
        Linear reflectance, gray or linear RGB.
    pixels_per_mm : float
    name : str
        What to call the region in a message.

    Returns
    -------
    ndarray, shape (h, w)

    Raises
    ------
    RegionError
        Smaller than one tile, too coarsely sampled, with missing values, blank, clipped, or with
        an edge inside.
    """
    if not (np.isfinite(pixels_per_mm) and pixels_per_mm > 0):
        raise RegionError(f"pixels_per_mm must be above zero, but it is {pixels_per_mm}")
    tint = luminance(reflectance)
    height, width = (n / pixels_per_mm for n in tint.shape)
    if min(height, width) < TILE_MM * 0.995:
        raise RegionError(
            f"the {name} is {width:.2f} x {height:.2f} mm, less than the {TILE_MM} mm tile that "
            f"grain needs: crop a larger piece of the tint, or check pixels_per_mm"
        )
    if min(tint.shape) < 16:
        raise RegionError(
            f"the {name} has only {tint.shape[1]} x {tint.shape[0]} pixels: grain needs at least "
            f"16 a side, take a closer photograph"
        )
    if not np.isfinite(tint).all():
        raise RegionError(f"the {name} has missing pixels: crop it clear of the frame's border")
    if float(tint.mean()) <= 0:
        raise RegionError(f"the {name} has no light in it: check the black level of the capture")
    if float(tint.min()) == float(tint.max()):
        raise RegionError(
            f"the {name} has the same value in every pixel: it is clipped or was never "
            f"photographed, so it holds no grain to measure"
        )
    _refuse_clipped(tint, name)
    _refuse_edge(tint, name)
    return tint


def _refuse_clipped(tint: FloatArray, name: str) -> None:
    for side, word in ((1, "bright"), (-1, "dark")):
        share = _clipped_share(side * np.ravel(tint))
        if share:
            raise RegionError(
                f"{100 * share:.1f} % of the {name} is clipped at the {word} end: photograph it "
                f"again with the exposure {'lower' if side > 0 else 'higher'}"
            )


def _clipped_share(values: FloatArray) -> float:
    """Share of values held at the maximum where the rest is the body of a cut-off bell curve.

    A drawn picture may also hold many pixels at its maximum (bare paper); its other pixels do
    not continue into that maximum as a noisy photograph's do.
    """
    top = values.max()
    at_top = float(np.mean(values == top))
    if not 0.005 <= at_top <= 0.98:
        return 0.0
    rest = values[values < top]
    next_down = float(np.mean(values == rest.max()))
    if at_top < 1.5 * next_down:
        return 0.0
    shares = np.array([0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95])
    scores = scipy.special.ndtri(shares * (1 - at_top))
    levels = np.quantile(rest, shares)
    slope, start = np.polyfit(scores, levels, 1)
    residual = levels - (start + slope * scores)
    straight = 1 - residual.var() / levels.var() if levels.var() > 0 else 0.0
    expected_top = start + slope * scipy.special.ndtri(1 - at_top)
    meets = abs(expected_top - top) < 0.25 * slope
    return at_top if straight > 0.995 and meets else 0.0


def _refuse_edge(tint: FloatArray, name: str) -> None:
    """Refuse a region in two parts of different level, each in one piece."""
    fine = block_means(tint, 24, 24)
    columns, rows = fine.mean(axis=0), fine.mean(axis=1)
    scatter = 24**-0.5
    # a straight border across 12 x 12 blocks changes 12 to 24 pairs of neighbours
    views = (
        (coarser(fine, 2), 26, 0.0),
        (columns[None, :], 2, float((fine - columns).std()) * scatter),
        (rows[None, :], 2, float((fine - rows[:, None]).std()) * scatter),
    )
    level = float(tint.mean())
    for blocks, most_changes, error in views:
        step, spread, threshold = _two_levels(np.ravel(blocks))
        upper = blocks > threshold
        changes = np.sum(upper[:, 1:] != upper[:, :-1]) + np.sum(upper[1:] != upper[:-1])
        smaller = max(1, min(int(upper.sum()), int((~upper).sum())))
        least = max(0.02 * level, 6 * spread, 6 * error / smaller**0.5)
        if step > least and changes <= most_changes:
            raise RegionError(
                f"the {name} is not one even tint: part of it differs by "
                f"{100 * step / level:.0f} % of its reflectance; crop it clear of edges"
            )


def block_means(tint: FloatArray, rows: int, columns: int) -> FloatArray:
    """Means of a grid of nearly equal blocks, shape (rows, columns)."""
    (first_rows, heights), (first_columns, widths) = (
        _even_parts(length, parts)
        for length, parts in zip(tint.shape, (rows, columns), strict=True)
    )
    sums = np.add.reduceat(tint, first_columns, axis=1, dtype=np.float64)
    sums = np.add.reduceat(sums, first_rows, axis=0)
    return np.asarray(sums / np.outer(heights, widths))


@lru_cache(maxsize=64)
def _even_parts(length: int, parts: int) -> tuple[IntArray, IntArray]:
    """First places and lengths of nearly equal parts of a length."""
    ends = np.linspace(0, length, parts + 1).astype(int)
    return ends[:-1], np.diff(ends)


def _two_levels(values: FloatArray) -> tuple[float, float, float]:
    """Best split in two classes: distance of their means, spread within them, and the limit.

    The smaller class must hold 4 % at least: a speck of dust is no edge.
    """
    ordered = np.sort(values)
    count = ordered.size
    below = np.arange(1, count)
    sums, squares = np.cumsum(ordered)[:-1], np.cumsum(ordered**2)
    low_mean = sums / below
    high_mean = (ordered.sum() - sums) / (count - below)
    within = (squares[-1] - below * low_mean**2 - (count - below) * high_mean**2) / count
    allowed = (below >= 0.04 * count) & (count - below >= 0.04 * count)
    best = int(np.argmin(np.where(allowed, within, np.inf)))
    spread = float(np.sqrt(max(within[best], 0.0)))
    threshold = float(ordered[best] + ordered[best + 1]) / 2
    return float(high_mean[best] - low_mean[best]), spread, threshold
