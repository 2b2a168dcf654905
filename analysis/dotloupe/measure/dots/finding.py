"""Single dots found in a light tint: their centres, sizes and depths in pixels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.level_crossing import falls_below

TILES = 8
PAPER_PERCENTILE, DOT_PERCENTILE = 85.0, 2.0
"""Where paper and dots are sought among the pixels of a tile of a light tint."""
SMOOTHED = 0.35
"""Smoothing before dots are sought, as a share of a dot's own standard deviation."""
APART = 1.5
"""Closest centres told apart, in standard deviations of a dot."""
CLEAR = 5.0
"""Standard deviations of the smoothed noise over which something counts as a dot."""
LOPSIDED = 0.3
"""Least skewness of darkness: dots on paper lean to the dark, grain without dots does not."""
SHALLOW = 0.4
"""Share of the typical depth below which it does not."""
UNEVEN = 0.6
"""Paper that differs from tile to tile by this share of what paper and dots differ within a tile
betrays an edge."""
NOTHING_CLEAR = (
    "dots: nothing in the region stands clear of the grain as single dots do; take a lighter "
    "tint, and photograph closer if its dots cannot be seen."
)


@dataclass(frozen=True)
class FoundDots:
    """Dots of a region.

    Attributes
    ----------
    x, y : ndarray of shape (n,)
        Centres, in pixels.
    area : ndarray of shape (n,)
        Pixels darker than half the dot's depth.
    depth : ndarray of shape (n,)
        Darkness at the centre, in reflectance.
    covered : float
        Share of the region darker than half a typical dot.
    """

    x: FloatArray
    y: FloatArray
    area: FloatArray
    depth: FloatArray
    covered: float


def find_dots(region: FloatArray) -> FoundDots:
    """Find dots as peaks of darkness and measure each within its own basin.

    Raises
    ------
    RegionError
        Nothing stands clear of the grain, or the region holds an edge.
    """
    from scipy.ndimage import gaussian_filter
    from skimage.segmentation import watershed

    pixel_noise = _pixel_noise(region)
    darkness = _paper(region, pixel_noise) - region
    sigma = _dot_sigma(darkness)
    softened = max(SMOOTHED * sigma, 0.5)
    smooth = gaussian_filter(darkness, softened)
    noise = pixel_noise / (2 * np.sqrt(np.pi) * softened)
    apart = max(round(APART * sigma), 1)
    if _skewness(smooth) < LOPSIDED:
        raise RegionError(NOTHING_CLEAR)
    peaks = _peaks(smooth, apart, CLEAR * noise + 1e-9)
    if len(peaks) < 4:
        raise RegionError(NOTHING_CLEAR)
    height = smooth[tuple(peaks.T)]
    typical = float(np.median(height))
    peaks = peaks[height > SHALLOW * typical]
    markers = np.zeros(region.shape, dtype=np.int32)
    markers[tuple(peaks.T)] = np.arange(1, len(peaks) + 1)
    dark = smooth > 0.25 * SHALLOW * typical
    basin = watershed(-smooth, markers, mask=dark)  # type: ignore[no-untyped-call]
    return _measured(smooth, basin, smooth[tuple(peaks.T)], typical)


def _peaks(smooth: FloatArray, apart: int, threshold: float) -> NDArray[np.intp]:
    """Rows and columns of maxima that nothing within `apart` pixels tops, the highest first."""
    from scipy.ndimage import maximum_filter
    from skimage.feature import peak_local_max

    highest = maximum_filter(smooth, 2 * apart + 1, mode="nearest")
    peaks = np.argwhere((smooth == highest) & (smooth > threshold))
    height = smooth[tuple(peaks.T)]
    if len(np.unique(height)) == len(peaks):
        return np.asarray(peaks[np.argsort(-height)])
    # Only peaks of one height can lie within a window of another: the first of them is kept.
    return np.asarray(
        peak_local_max(  # type: ignore[no-untyped-call]
            smooth, min_distance=apart, threshold_abs=threshold, exclude_border=False
        )
    )


def _paper(region: FloatArray, noise: float) -> FloatArray:
    """Reflectance between the dots: a plane through a high percentile of each tile.

    White noise lifts that percentile by its own quantile of the normal distribution.
    """
    from scipy.special import ndtri

    lifted = noise * float(ndtri(PAPER_PERCENTILE / 100))
    height, width = region.shape
    level, dark = _tile_percentiles(region, (PAPER_PERCENTILE, DOT_PERCENTILE))
    if np.ptp(level) > UNEVEN * np.median(level - dark):
        raise RegionError(
            "dots: the paper is not even, as with an edge; take a region of one tint."
        )
    v, u = np.meshgrid(np.linspace(-1, 1, TILES), np.linspace(-1, 1, TILES), indexing="ij")
    basis = np.stack([np.ones(u.size), u.ravel(), v.ravel()], axis=1)
    base, along_x, along_y = np.linalg.lstsq(basis, level - lifted)[0]
    x, y = np.linspace(-1, 1, width), np.linspace(-1, 1, height)[:, None]
    return np.asarray(base + along_x * x + along_y * y)


def _tile_percentiles(region: FloatArray, wanted: tuple[float, ...]) -> FloatArray:
    """Percentiles of the pixels of each tile, row after row: (percentiles, tiles)."""
    from skimage.util import view_as_blocks

    found = np.empty((len(wanted), TILES, TILES))
    for rows, tile_rows, height in _of_one_length(region.shape[0]):
        for columns, tile_columns, width in _of_one_length(region.shape[1]):
            tiles = view_as_blocks(region[rows, columns], (height, width))  # type: ignore[no-untyped-call]
            found[:, tile_rows, tile_columns] = np.percentile(tiles, wanted, axis=(2, 3))
    return found.reshape(len(wanted), -1)


def _of_one_length(length: int) -> Iterator[tuple[slice, slice, int]]:
    """Pixels and numbers of the tiles that are a pixel longer, and of the others, and the length.

    They share a side of the region as evenly as whole pixels allow.
    """
    shorter, longer = divmod(length, TILES)
    border = longer * (shorter + 1)
    if longer:
        yield slice(border), slice(longer), shorter + 1
    yield slice(border, length), slice(longer, TILES), shorter


def _pixel_noise(region: FloatArray) -> float:
    """Standard deviation of white noise, from a mask that answers to little else.

    The outer product of two second differences, of gain 6 on white noise (Immerkaer 1996, from
    memory); its median is not moved by the rims of dots.
    """
    bend = np.diff(np.diff(region, 2, axis=0), 2, axis=1)
    return float(np.median(np.abs(bend)) / 0.6745 / 6.0)


def _skewness(field: FloatArray) -> float:
    apart = field - field.mean()
    square = apart * apart
    third = np.vdot(square, apart) / apart.size
    return float(third / max(np.vdot(apart, apart) / apart.size, 1e-18) ** 1.5)


def _dot_sigma(darkness: FloatArray) -> float:
    """Standard deviation of a dot's profile, from where the autocorrelation falls to half.

    The autocorrelation of a light tint is near its centre that of a single dot, whose spread is
    the square root of two times the dot's. White noise, which adds to the centre alone, is left
    out.
    """
    from scipy.fft import irfft2, rfft2

    field = darkness - darkness.mean()
    correlation = irfft2(np.abs(rfft2(field)) ** 2, s=field.shape)
    along = correlation[0, : field.shape[1] // 2]
    down = correlation[: field.shape[0] // 2, 0]
    reach = min(len(along), len(down))
    mean = (along[:reach] + down[:reach]) / 2
    centre = max((4 * mean[1] - mean[2]) / 3, mean[1])
    mean[0] = centre
    half = float(falls_below(np.arange(float(reach)), mean, centre / 2))
    return 1.0 if np.isnan(half) else max(half / np.sqrt(2 * np.log(2)) / np.sqrt(2), 0.7)


def _measured(
    smooth: FloatArray, basin: NDArray[np.int32], depth: FloatArray, typical: float
) -> FoundDots:
    """Centre and area of every basin."""
    count = len(depth) + 1
    label = basin.ravel()
    inside = (smooth > 0.5 * np.concatenate([[np.inf], depth])[basin]).ravel()
    weight = np.where(inside, smooth.ravel(), 0.0)
    y, x = np.indices(smooth.shape)
    total = np.bincount(label, weights=weight, minlength=count)[1:]
    area = np.bincount(label, weights=inside, minlength=count)[1:]
    at_x = np.bincount(label, weights=weight * x.ravel(), minlength=count)[1:] / total
    at_y = np.bincount(label, weights=weight * y.ravel(), minlength=count)[1:] / total
    covered = float(np.mean(smooth > 0.5 * typical))
    return FoundDots(at_x, at_y, area.astype(float), depth, covered)
