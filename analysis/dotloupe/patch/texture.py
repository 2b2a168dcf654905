"""A random texture of known spectrum, for the transfer of fine detail."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.patch.region import Region

CELL_MM = 0.02
MEAN_REFLECTANCE = 0.45
SPREAD = 0.16
LOWEST, HIGHEST = 0.08, 0.92
SEED = 20
SUB_SAMPLES = 3
"""Points a pixel and axis at which cells are looked up: their mean stands for the pixel's area."""
BAND = 80
"""Rows of pixels at a time, few enough for the processor's cache."""


@lru_cache(maxsize=4)
def texture_cells(size_mm: float) -> FloatArray:
    """Reflectance of a square texture whose amplitude falls as 1/frequency.

    Pictures of the world fall so (Field, J. Opt. Soc. Am. A 4 (1987) 2379; from memory), and the
    power of a printed texture so stays above the grain over most of the frequencies that a print
    holds.

    Parameters
    ----------
    size_mm : float
        Side of the square.

    Returns
    -------
    ndarray of shape (cells, cells)
        Linear reflectance, the same at every call; not to be written to.
    """
    cells = round(size_mm / CELL_MM)
    noise = np.random.default_rng(SEED).standard_normal((cells, cells))
    frequency = np.hypot(np.fft.fftfreq(cells)[:, None], np.fft.rfftfreq(cells)[None, :])
    frequency[0, 0] = np.inf
    field = np.fft.irfft2(np.fft.rfft2(noise) / frequency, s=noise.shape)
    reflectance = MEAN_REFLECTANCE + SPREAD * field / field.std()
    cells_drawn = np.round(np.clip(reflectance, LOWEST, HIGHEST), 3)
    cells_drawn.setflags(write=False)
    return cells_drawn


def texture_at_pixels(
    homography: FloatArray, shape: tuple[int, int], region: Region, *, scale: float = 1.0
) -> FloatArray:
    """Reflectance of the texture's drawing in the pixels of a picture that lies within it.

    Parameters
    ----------
    homography : ndarray of shape (3, 3)
        Pixel (x, y, 1) of the picture to patch mm.
    shape : (int, int)
        Rows and columns of the picture.
    region : Region
        The texture's rectangle.
    scale : float
        Its printed size over its drawn size.

    Returns
    -------
    ndarray of shape `shape`
        Linear reflectance, averaged over each pixel.
    """
    cells = texture_cells(region.width_mm / scale)
    last = len(cells) - 1
    corner = np.array([[1, 0, -region.x_mm], [0, 1, -region.y_mm], [0, 0, CELL_MM * scale]])
    to_cells = corner @ homography
    offsets = (np.arange(SUB_SAMPLES) + 0.5) / SUB_SAMPLES - 0.5
    x, y = np.arange(shape[1])[None, :], np.arange(shape[0])[:, None]
    total = np.zeros(shape)
    for top in range(0, shape[0], BAND):
        band, rows = total[top : top + BAND], y[top : top + BAND]
        for dy in offsets:
            for dx in offsets:
                column, row, scale = (a * (x + dx) + (b * (rows + dy) + c) for a, b, c in to_cells)
                at = (np.clip((place / scale).astype(int), 0, last) for place in (row, column))
                band += cells[tuple(at)]
    return total / SUB_SAMPLES**2
