"""Grain of a known spectrum and cells cut out of it, for the tests of gratings."""

import numpy as np

from dotloupe.measure.contrast import CellImage

PER_MM = 24.0
"""Three pixels a period of the finest grating: coarse, and so quick."""
CELL_MM, PLAIN_MM = (1.0, 1.0), (2.1, 2.1)


def coloured_field(size_mm, deviation, seed):
    """Noise whose power falls at high and at low frequency, shape (n, n): neither white nor flat.

    White noise through a Gaussian of 25 um, less a half of what a Gaussian of 150 um leaves.
    """
    n = round(size_mm * PER_MM)
    rng = np.random.default_rng(seed)
    f = np.hypot(np.fft.fftfreq(n)[:, None], np.fft.rfftfreq(n)[None, :]) * PER_MM
    passed = np.exp(-2 * (np.pi * 0.025 * f) ** 2) - 0.5 * np.exp(-2 * (np.pi * 0.15 * f) ** 2)
    field = np.fft.irfft2(np.fft.rfft2(rng.standard_normal((n, n))) * passed, s=(n, n))
    return deviation * field / field.std()


def places(size_mm, turn_deg=0.0, per_mm=PER_MM):
    """Millimetres along and across from the middle of a cell, turned against its pixels."""
    n = round(size_mm[0] * per_mm) + 5, round(size_mm[1] * per_mm) + 5
    u, v = np.meshgrid(*((np.arange(k) - (k - 1) / 2) / per_mm for k in n))
    cos, sin = np.cos(np.deg2rad(turn_deg)), np.sin(np.deg2rad(turn_deg))
    return cos * u + sin * v, cos * v - sin * u


def cell_of(field, size_mm, rng, signal=0.0):
    """A cell of a field at a random place, a signal added."""
    along, across = places(size_mm)
    rows, columns = along.shape
    row, column = (rng.integers(n - k) for n, k in zip(field.shape, (rows, columns), strict=True))
    return CellImage(field[row : row + rows, column : column + columns] + signal, along, across)
