"""The filter that sharpens for a printer's response: its regularised inverse, within bounds.

S = (1 + e) R/(R^2 + e) for a response R, 1 at frequency 0 (Wiener's inverse, from memory), never
below 1, its gain capped, back at 1 before the Nyquist frequency of the file. Among these the one
with the least e whose halo on the print stays within its bound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from dotloupe.arrays import FloatArray
from dotloupe.measure import falls_below
from dotloupe.units import MM_PER_INCH

MOST_HALO = 0.05
"""Of an edge's step, beyond it on either side, on the print."""
DESIGN_HALO = 0.03
"""Bound that the filter is made for: what is left allows for errors of the response."""
MOST_GAIN = 3.0
ROLL_OFF = (0.8, 0.96)
"""Shares of the Nyquist frequency, or of the reach of the response, from and to which the gain
goes back to 1."""
RADIUS_MM = 1.0
"""Reach of the filter on the print; what lies farther is light spread in the paper."""
WIDTHS = np.geomspace(0.1, 8.0, 120)
"""Of the Nyquist frequency: where the response that is wanted is half, least sharpening first."""
STEP = 0.05
"""Cycles/mm between the samples of curves."""
STEP_REACH_MM, STEP_SAMPLES = 2.0, 401
SMOOTHED = 0.25
"""Cycles/mm, standard deviation: no kink that a filter of this reach could not follow."""
POWERS = np.array([1, 2, 3])
LEAST_RESPONSE, LEAST_ERROR = 0.05, 0.01


@dataclass(frozen=True)
class UnsharpMask:
    """An unsharp mask: the picture plus `amount` times its difference from its Gaussian blur."""

    amount: float
    radius_mm: float

    def gain(self, frequency: FloatArray) -> FloatArray:
        """1 + amount (1 - exp(-2 pi^2 radius^2 f^2)), for frequencies in cycles/mm."""
        blurred = np.exp(-2 * (np.pi * self.radius_mm * frequency) ** 2)
        return np.asarray(1 + self.amount * (1 - blurred))


@dataclass(frozen=True)
class AxisSharpening:
    """The filter along one axis, and what it does to the response of the print.

    Attributes
    ----------
    frequency, before, gain, after : ndarray of shape (n,)
        Cycles/mm up to the Nyquist frequency of the file; response of the print, gain of what is
        sent, and their product, which is expected of the print.
    half_before, half_after : float
        Cycles/mm where the response falls to half; NaN where it does not before the Nyquist
        frequency.
    halo_before, halo_after : float
        Overshoot of an edge on the print, of its step.
    unsharp : UnsharpMask
        The nearest one, by least squares over the response that is left.
    """

    frequency: FloatArray
    before: FloatArray
    gain: FloatArray
    after: FloatArray
    half_before: float
    half_after: float
    halo_before: float
    halo_after: float
    unsharp: UnsharpMask


def axis_sharpening(
    frequency: FloatArray,
    response: FloatArray,
    error: FloatArray,
    ppi: float,
) -> AxisSharpening:
    """Sharpening for a response measured along one axis.

    Parameters
    ----------
    frequency, response, error : ndarray of shape (n,)
        Cycles/mm from 0 up, contrast on the print over that of the file, and its standard error.
    ppi : float
        Pixels per inch of the file to send.
    """
    nyquist = ppi / MM_PER_INCH / 2
    curve = SmoothResponse.through(frequency, response, error)
    reach = min(nyquist, float(frequency[-1]))
    f = np.arange(0.0, nyquist + STEP / 2, STEP)
    before = curve(f)
    gains = [np.ones_like(f)]
    gains += [_regularised_inverse(before, f, w, reach) for w in nyquist * WIDTHS]
    halos = edge_overshoot(curve, f, np.array(gains), ppi)
    within = halos <= max(DESIGN_HALO, halos[0])
    last = len(halos) - 1 if within.all() else int(np.argmin(within)) - 1
    chosen = gains[last]
    after = before * chosen
    return AxisSharpening(
        f,
        before,
        chosen,
        after,
        float(falls_below(f, before, 0.5)),
        float(falls_below(f, after, 0.5)),
        float(halos[0]),
        float(halos[last]),
        nearest_unsharp_mask(f, before, chosen),
    )


def _regularised_inverse(
    response: FloatArray, frequency: FloatArray, width: float, reach: float
) -> FloatArray:
    """Gain that brings a response towards a Gaussian that is half at `width` cycles/mm.

    Its e is what holds the gain under `MOST_GAIN`: R/(R^2 + e) is at most 1/(2 sqrt(e)).
    """
    e = 1 / (2 * MOST_GAIN) ** 2
    wanted = np.exp2(-((frequency / width) ** 2))
    inverse = np.clip((1 + e) * wanted * response / (response**2 + e), 1.0, MOST_GAIN)
    start, end = ROLL_OFF
    back = np.clip((frequency / reach - start) / (end - start), 0, 1)
    gain = 1 + (inverse - 1) * np.cos(np.pi / 2 * back) ** 2
    excess = scipy.ndimage.gaussian_filter1d(gain - 1, SMOOTHED / STEP)
    return np.asarray(1 + excess * -np.expm1(-((frequency / SMOOTHED) ** 2) / 2))


@dataclass(frozen=True)
class SmoothResponse:
    """Smooth curve through a response: its logarithm is a polynomial of f^2, 0 at f = 0."""

    terms: FloatArray
    end: float

    @classmethod
    def through(
        cls, frequency: FloatArray, response: FloatArray, error: FloatArray
    ) -> SmoothResponse:
        """Least squares, each value by its relative error."""
        held = (frequency > 0) & (response > LEAST_RESPONSE)
        f, kept = frequency[held], response[held]
        weight = kept / np.maximum(error[held], LEAST_ERROR)
        end = float(f[-1])
        powers = _even_powers(f / end)
        terms = np.linalg.lstsq(powers * weight[:, None], np.log(kept) * weight, rcond=None)[0]
        return cls(terms, end)

    def __call__(self, frequency: FloatArray) -> FloatArray:
        """Response, shape as given; beyond what was measured it goes on falling as at its end."""
        inside = np.minimum(frequency / self.end, 1)
        slope = min(float(self.terms @ (2 * POWERS)), 0.0)
        log = _even_powers(inside) @ self.terms + slope * np.maximum(frequency / self.end - 1, 0)
        return np.asarray(np.exp(log))


def _even_powers(x: FloatArray) -> FloatArray:
    return np.asarray(x[..., None] ** (2 * POWERS))


def edge_overshoot(
    curve: SmoothResponse, frequency: FloatArray, gains: FloatArray, ppi: float
) -> FloatArray:
    """Overshoot, of its step, of an edge drawn in the file's pixels and printed.

    Parameters
    ----------
    curve : SmoothResponse
        Of the print.
    frequency : ndarray of shape (n,)
        Up to the Nyquist frequency.
    gains : ndarray of shape (m, n)
        Of the filters that the file went through.
    ppi : float
        Of the file.

    Returns
    -------
    ndarray of shape (m,)
    """
    nyquist = ppi / MM_PER_INCH / 2
    f = np.arange(STEP / 2, 4 * nyquist, STEP)
    folded = np.abs((f + nyquist) % (2 * nyquist) - nyquist)
    filtered = np.array([np.interp(folded, frequency, gain) for gain in gains])
    seen = curve(f) * np.sinc(f / (2 * nyquist)) * filtered
    x_mm = np.linspace(0, STEP_REACH_MM, STEP_SAMPLES)
    waves = np.sin(2 * np.pi * f * x_mm[:, None])
    steps = 0.5 + waves @ (seen * STEP / (np.pi * f)).T
    return np.maximum(steps.max(axis=0) - 1, 0.0)


def nearest_unsharp_mask(
    frequency: FloatArray, response: FloatArray, gain: FloatArray
) -> UnsharpMask:
    """Unsharp mask whose gain comes nearest, each frequency weighing by the response there."""
    best = (np.inf, UnsharpMask(0.0, 0.0))
    for radius in np.geomspace(0.01, 0.5, 80):
        shape = response * (UnsharpMask(1.0, radius).gain(frequency) - 1)
        wanted = response * (gain - 1)
        amount = max(float(shape @ wanted / (shape @ shape)), 0.0)
        off = float(np.sum((wanted - amount * shape) ** 2))
        if off < best[0]:
            best = (off, UnsharpMask(amount, float(radius)))
    return best[1]


def sharpening_kernel(x: AxisSharpening, y: AxisSharpening, ppi: float) -> FloatArray:
    """Kernel of both directions' gains, shape (n, n), n odd, even each way, its sum 1.

    Between the axes the logarithm of the gain goes as the squared sine of the angle, as that of
    an elliptical Gaussian does.
    """
    radius = int(np.ceil(RADIUS_MM * ppi / MM_PER_INCH))
    size = 4 * radius
    f = np.fft.fftfreq(size, MM_PER_INCH / ppi)
    across, down = f[None, :], f[:, None]
    distance = np.hypot(across, down)
    sine = np.divide(down, distance, out=np.zeros_like(distance), where=distance > 0) ** 2
    log = (1 - sine) * np.log(np.interp(distance, x.frequency, x.gain))
    log += sine * np.log(np.interp(distance, y.frequency, y.gain))
    whole = np.fft.fftshift(np.fft.ifft2(np.exp(log)).real)
    middle = slice(size // 2 - radius, size // 2 + radius + 1)
    kernel = whole[middle, middle]
    return np.asarray(kernel / kernel.sum())
