"""What the grain of a tint truly is on paper, before any camera.

Nothing here comes from `dotloupe.measure`, so that a measurement can be held against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

from dotloupe.errors import InputError
from dotloupe.patch import srgb_encode
from dotloupe.simulate.printing import print_picture
from dotloupe.simulate.sheet import LUMINANCE

if TYPE_CHECKING:
    from collections.abc import Callable

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.sheet import Sheet, Window

_RING = 0.25
_LAST_RING = 40.0
_MARGIN_MM = 0.5


@dataclass(frozen=True)
class GrainTruth:
    """Noise of a tint as printed.

    Attributes
    ----------
    mean, variance : float
        Of the weighted reflectance on the fine grid.
    frequency_x, frequency_y : (n,), (m,) arrays
        Cycles/mm along the sheet's axes.
    spectrum : (m, n) array
        Noise power in reflectance^2 mm^2 of those frequencies; its integral is the variance.
    frequency, noise_power, noise_power_error : (k,) arrays
        Means over rings 0.25 cycles/mm wide, and the standard error among prints, NaN for one.
    """

    mean: float
    variance: float
    frequency_x: FloatArray
    frequency_y: FloatArray
    spectrum: FloatArray
    frequency: FloatArray
    noise_power: FloatArray
    noise_power_error: FloatArray

    def variance_through(self, transfer: Callable[[FloatArray, FloatArray], FloatArray]) -> float:
        """Variance that is left after a `transfer` of (fx, fy): an aperture's, or a camera's."""
        fx, fy = self.frequency_x[None, :], self.frequency_y[:, None]
        step = (self.frequency_x[1] - self.frequency_x[0]) * (
            self.frequency_y[1] - self.frequency_y[0]
        )
        return float(np.sum(self.spectrum * np.abs(transfer(fx, fy)) ** 2) * step)


def grain_truth(
    sheet: Sheet,
    window_mm: Window,
    *,
    weights: tuple[float, float, float] = LUMINANCE,
    texture: bool = True,
) -> GrainTruth:
    """Noise of one window of one sheet, as it lies there.

    Parameters
    ----------
    window_mm : tuple of float
        Left, top, right, bottom of an area of one even tint.
    weights : tuple of float
        Weights of red, green and blue in the picture that is measured.
    texture : bool
        Whether the paper's relief stays in.

    Raises
    ------
    InputError
        For a window under 1 mm wide.
    """
    values = sheet.window(window_mm, weights=weights)
    if min(values.shape) < sheet.pixels_per_mm:
        raise InputError(f"grain truth: window {window_mm} is under 1 mm wide: widen it")
    if not texture:
        values = values / sheet.window_texture(window_mm)
    mean = float(values.mean())
    power = np.abs(fft.fft2(values - mean)) ** 2 / (values.size * sheet.pixels_per_mm**2)
    fx, fy = (fft.fftshift(fft.fftfreq(n, 1.0 / sheet.pixels_per_mm)) for n in values.shape[::-1])
    spectrum = fft.fftshift(power)
    frequency, rings = _ring_means(fx, fy, spectrum)
    return GrainTruth(
        mean=mean,
        variance=float(values.var()),
        frequency_x=fx,
        frequency_y=fy,
        spectrum=spectrum,
        frequency=frequency,
        noise_power=rings,
        noise_power_error=np.full_like(rings, np.nan),
    )


def true_tint_grain(
    sent: float | tuple[float, float, float],
    *,
    side_mm: float = 8.0,
    prints: int = 4,
    seed: int = 1,
    weights: tuple[float, float, float] = LUMINANCE,
    texture: bool = False,
    **setting,
) -> GrainTruth:
    """Noise of a tint of a printer, averaged over prints at other places of mask and head.

    Parameters
    ----------
    sent : float or three
        Reflectance that is sent, grey or red, green and blue.
    side_mm : float
        Side of the square that is looked at, of which the lowest frequency is the inverse.
    prints : int
        How many are averaged; the standard error falls as its square root.
    **setting
        `printer`, `mode`, `alignment` and `paper`, as `print_picture` takes them.
    """
    places = round((side_mm + 2.0 * _MARGIN_MM) * 720.0 / 25.4)
    coded = np.round(65535.0 * srgb_encode(np.broadcast_to(np.asarray(sent, dtype=float), 3)))
    picture = np.broadcast_to(coded.astype(np.uint16), (places, places, 3))
    inside = (_MARGIN_MM, _MARGIN_MM, _MARGIN_MM + side_mm, _MARGIN_MM + side_mm)
    truths = [
        grain_truth(
            print_picture(picture, 720.0, seed=seed + number, margin_mm=0.0, **setting),
            inside,
            weights=weights,
            texture=texture,
        )
        for number in range(prints)
    ]
    rings = np.array([truth.noise_power for truth in truths])
    unknown = np.full(rings.shape[1], np.nan)
    return GrainTruth(
        mean=float(np.mean([truth.mean for truth in truths])),
        variance=float(np.mean([truth.variance for truth in truths])),
        frequency_x=truths[0].frequency_x,
        frequency_y=truths[0].frequency_y,
        spectrum=np.mean([truth.spectrum for truth in truths], axis=0),
        frequency=truths[0].frequency,
        noise_power=rings.mean(axis=0),
        noise_power_error=(rings.std(axis=0, ddof=1) / np.sqrt(prints) if prints > 1 else unknown),
    )


def _ring_means(
    fx: FloatArray, fy: FloatArray, spectrum: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean radial frequency and mean power of each ring; the mean's own place is left out."""
    radial = np.hypot(fx[None, :], fy[:, None])
    ring = np.floor(radial / _RING).astype(int)
    used = (radial > 0.0) & (radial < _LAST_RING)
    count = np.bincount(ring[used])
    frequency = np.bincount(ring[used], weights=radial[used])
    power = np.bincount(ring[used], weights=spectrum[used])
    filled = count > 0
    return frequency[filled] / count[filled], power[filled] / count[filled]
