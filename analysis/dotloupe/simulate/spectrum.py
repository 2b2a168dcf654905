"""Fourier grids of a picture, and transfers that depend on the radial frequency alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray

_TABLE_STEPS = 65535


@dataclass(frozen=True)
class FourierGrid:
    """Half-plane grid of a real transform.

    Attributes
    ----------
    shape : tuple of int
        Rows and columns of the padded picture.
    fx, fy : float32 arrays, (1, n) and (rows, 1)
        Frequencies in cycles/mm.
    """

    shape: tuple[int, int]
    fx: FloatArray
    fy: FloatArray

    def radial_lookup(self) -> tuple[FloatArray, NDArray[np.uint16]]:
        """Evenly stepped radial frequencies, and for each place of the grid which is nearest.

        A step is some 0.002 cycles/mm, over which no transfer here changes by 0.0002.
        """
        last = float(np.hypot(self.fx.max(), np.abs(self.fy).max()))
        radial = np.sqrt(self.fx**2 + self.fy**2)
        radial *= np.float32(_TABLE_STEPS / last)
        nearest = np.rint(radial, out=radial).astype(np.uint16)
        return np.linspace(0.0, last, _TABLE_STEPS + 1), nearest

    def spread(self, transfer: Callable[[FloatArray], FloatArray]) -> FloatArray:
        """Values float32 on the grid of a function of the radial frequency."""
        radial, nearest = self.radial_lookup()
        return np.take(transfer(radial).astype(np.float32), nearest)


def fourier_grid(shape: tuple[int, int], pad_px: int, pixels_per_mm: float) -> FourierGrid:
    """Grid for a picture of `shape`, with at least `pad_px` to spare on each axis.

    Parameters
    ----------
    shape : (rows, columns)
    pad_px : int
    pixels_per_mm : float
    """
    rows, cols = (int(fft.next_fast_len(n + pad_px, real=True)) for n in shape)
    return FourierGrid(
        shape=(rows, cols),
        fx=fft.rfftfreq(cols, 1.0 / pixels_per_mm).astype(np.float32)[None, :],
        fy=fft.fftfreq(rows, 1.0 / pixels_per_mm).astype(np.float32)[:, None],
    )
