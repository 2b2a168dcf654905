"""The camera's blur taken out of a noise spectrum."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.camera_mtf import CAMERA_FLOOR, CameraCurve
from dotloupe.measure.grain.ring_spectrum import multiplied

if TYPE_CHECKING:
    from dotloupe.measure.grain.banding import Banding
    from dotloupe.measure.grain.ring_spectrum import RingSpectrum


def without_blur(rings: RingSpectrum, camera: CameraCurve) -> tuple[RingSpectrum, float]:
    """Divide a spectrum by the square of a camera's MTF.

    Above the frequency where the MTF first falls under 0.2, or where its curve ends, nothing can
    be said: the power there counts as zero.

    Returns
    -------
    RingSpectrum
        With the error of the camera's curve among the shared errors.
    float
        Frequency in cycles/mm up to which the division holds.
    """
    reach = min(camera.reach, rings.nyquist)
    gain = np.maximum(np.interp(rings.frequency, camera.frequency, camera.mtf), CAMERA_FLOOR)
    error = np.interp(rings.frequency, camera.frequency, camera.error) / gain
    known = rings.frequency <= reach
    divided = multiplied(rings, np.where(known, gain**-2, 0), relative_error=2 * error)
    return divided, reach


def bands_without_blur(found: Banding, camera: CameraCurve) -> Banding:
    """Give bands the strength they have on the print, as far as the camera's curve reaches."""
    if not found.bands:
        return found
    bands = []
    for band in found.bands:
        frequency = min(1 / band.period_mm, camera.reach)
        gain = float(np.interp(frequency, camera.frequency, camera.mtf))
        low, high = band.strength_interval
        bands.append(
            replace(
                band,
                amplitude=band.amplitude / gain,
                strength=band.strength / gain,
                strength_interval=(low / gain, high / gain),
            )
        )
    strength = hypot(*(b.strength for b in bands))
    ratio = strength / found.strength
    low, high = found.strength_interval
    interval = (low * ratio, high * ratio)
    return replace(found, bands=tuple(bands), strength=strength, strength_interval=interval)
