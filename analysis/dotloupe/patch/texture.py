"""A random texture of known spectrum, for the transfer of fine detail."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray

CELL_MM = 0.02
MEAN_REFLECTANCE = 0.45
SPREAD = 0.16
LOWEST, HIGHEST = 0.08, 0.92
SEED = 20


def texture_cells(size_mm: float) -> FloatArray:
    """Reflectance of a square texture whose amplitude falls as 1/frequency.

    Pictures of the world fall so (Field 1987, from memory), and the power of a printed texture so
    stays above the grain over most of the frequencies that a print holds.

    Parameters
    ----------
    size_mm : float
        Side of the square.

    Returns
    -------
    ndarray of shape (cells, cells)
        Linear reflectance, the same at every call.
    """
    cells = round(size_mm / CELL_MM)
    noise = np.random.default_rng(SEED).standard_normal((cells, cells))
    frequency = np.hypot(np.fft.fftfreq(cells)[:, None], np.fft.rfftfreq(cells)[None, :])
    frequency[0, 0] = np.inf
    field = np.fft.irfft2(np.fft.rfft2(noise) / frequency, s=noise.shape)
    reflectance = MEAN_REFLECTANCE + SPREAD * field / field.std()
    return np.round(np.clip(reflectance, LOWEST, HIGHEST), 3)
