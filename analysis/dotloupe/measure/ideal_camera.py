"""The best that a camera could do: its pixel, and diffraction at its working aperture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray

WAVELENGTH_UM = 0.55
"""Of the light that luminance weighs most."""


@dataclass(frozen=True)
class IdealCamera:
    """A square pixel behind a perfect lens with a round pupil.

    Attributes
    ----------
    f_number : float or None
        Aperture as marked; None where unknown, which leaves the pixel alone.
    pixel_pitch_um : float or None
        Pitch of the pixels on the sensor, which tells the magnification; None as above.
    """

    f_number: float | None = None
    pixel_pitch_um: float | None = None

    @property
    def has_diffraction(self) -> bool:
        """Whether enough is known for diffraction."""
        return self.f_number is not None and self.pixel_pitch_um is not None

    def working_f_number(self, pixels_per_mm: float) -> float | None:
        """N (1 + m) at magnification m; None where that is unknown."""
        if self.f_number is None or self.pixel_pitch_um is None:
            return None
        return self.f_number * (1.0 + pixels_per_mm * self.pixel_pitch_um / 1000.0)

    def mtf(self, frequency: FloatArray, pixels_per_mm: float) -> FloatArray:
        """Modulation transfer of pixel and diffraction, an upper bound of the camera's.

        Parameters
        ----------
        frequency : ndarray, shape (m,)
            Cycles/mm on the print.
        pixels_per_mm : float
            On the print.

        Returns
        -------
        ndarray, shape (m,)

        Notes
        -----
        Circular pupil: 2/pi (acos v - v sqrt(1 - v^2)), v the frequency on the sensor over
        1/(wavelength N (1 + m)) (from memory).
        """
        per_pixel = np.asarray(frequency, dtype=float) / pixels_per_mm
        pixel = np.abs(np.sinc(per_pixel))
        working = self.working_f_number(pixels_per_mm)
        if working is None or self.pixel_pitch_um is None:
            return np.asarray(pixel)
        v = np.minimum(per_pixel * WAVELENGTH_UM * working / self.pixel_pitch_um, 1.0)
        return np.asarray(pixel * 2.0 / np.pi * (np.arccos(v) - v * np.sqrt(1.0 - v * v)))
