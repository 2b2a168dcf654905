"""What each ink of a printer prints at each coverage, and the coverage that prints a density."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray


@dataclass(frozen=True)
class InkCurves:
    """Curves of one printer, mode and paper, read off calibration strips it printed.

    Attributes
    ----------
    coverage : (steps,) array
        Share of lattice places inked.
    density : (4, steps, 3) array
        Density of each ink alone in the three bands, the surface's light taken out.
    surface : float
        The surface's light, relative to paper.
    black : float
        Reflectance of the densest black, relative to paper.
    sent, corrected : (greys,) arrays
        What must be asked for, so that a grey prints as it was sent.
    """

    coverage: FloatArray
    density: FloatArray
    surface: float
    black: float
    sent: FloatArray
    corrected: FloatArray

    def density_of(self, ink: int, coverage: FloatArray) -> FloatArray:
        """Densities (..., 3) that a coverage of one ink prints."""
        bands = [np.interp(coverage, self.coverage, self.density[ink, :, b]) for b in range(3)]
        return np.stack(bands, axis=-1).astype(np.float32)

    def coverage_of(self, ink: int, band: int, density: FloatArray) -> FloatArray:
        """Coverage of one ink that prints a density in one band, as far as it goes."""
        curve = self.density[ink, :, band]
        return np.interp(density, curve, self.coverage).astype(np.float32)

    def correct(self, reflectance: FloatArray) -> FloatArray:
        """Reflectance to ask for, so that a neutral prints at `reflectance`."""
        return np.interp(reflectance, self.sent, self.corrected).astype(np.float32)
