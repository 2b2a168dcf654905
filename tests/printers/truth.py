"""Plain truths: a long edge averaged by distance, a large tint by its spectrum.

Both are of what the camera's lens and pixels make of the print, without noise or tilt; no code of
dotloupe measures them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from .cameras import AROUND_MM, Camera, photograph
from .printed import MM_PER_INCH, Driver, Floats, Printer

SLANT_DEG = 5.0
MID = (0.16, 0.64)
STRIP_MM, STRIP_WIDE_MM, REACH_MM = 44.0, 10.0, 1.4
BIN_MM = 0.002
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
VIEWING_MM = 350.0


@dataclass(frozen=True)
class EdgeTruth:
    """MTF50 and MTF10 in cycles/mm, and the curve that they were read from."""

    mtf50: float
    mtf10: float
    frequency: Floats
    mtf: Floats


def true_edge(
    printer: Printer,
    sent_ppi: int,
    camera: Camera,
    *,
    axis: Literal["x", "y"] = "x",
    strips: int = 8,
    tones: tuple[float, float] = MID,
    fault: str | None = None,
    strength: float = 0.0,
    seed: int = 0,
    driver: Driver | None = None,
) -> EdgeTruth:
    """Average an edge of `strips` times 40 mm by distance; derivative, then Fourier transform.

    `axis` is the one that the edge modulates along. Half of the strips have the dark side first.
    A fault that changes with the place is taken all along the edge, at the strength given.
    """
    edges = np.arange(-REACH_MM, REACH_MM + BIN_MM / 2, BIN_MM)
    total, count = np.zeros((2, edges.size - 1))
    for strip in range(strips):
        distance, light = _strip(
            printer, sent_ppi, camera, axis, strip, tones, (fault, strength), seed, driver
        )
        total += np.histogram(distance, edges, weights=light)[0]
        count += np.histogram(distance, edges)[0]
    return _response(total / count)


def _strip(printer, sent_ppi, camera, axis, strip, tones, fault, seed, driver):
    """Distances and luminances of pixels about one long edge, dark to light."""
    offset = np.random.default_rng([seed, strip]).uniform(-0.5, 0.5)
    flip = -1 if strip % 2 else 1
    per_mm = sent_ppi / MM_PER_INCH
    rows, columns = round(STRIP_MM * per_mm), round(STRIP_WIDE_MM * per_mm)
    size_mm = np.array([columns, rows]) / per_mm
    share = _share_beyond(rows, columns, per_mm, offset, size_mm)
    share = share if flip == 1 else 1 - share
    drawing = np.repeat((tones[0] + (tones[1] - tones[0]) * share)[..., None], 3, axis=-1)
    if axis == "y":
        drawing = drawing.transpose(1, 0, 2)
    printed = printer.print_drawing(drawing, sent_ppi, seed + strip, driver=driver)
    shot = photograph(printed, camera.still, fault=fault[0], strength=fault[1], seed=seed)
    light = shot.linear @ LUMINANCE
    if axis == "y":
        light = light.T
    y, x = np.mgrid[: light.shape[0], : light.shape[1]]
    x_mm = (x - (light.shape[1] - 1) / 2) / camera.pixels_per_mm
    y_mm = (y - (light.shape[0] - 1) / 2) / camera.pixels_per_mm
    slant = np.deg2rad(SLANT_DEG)
    distance = np.cos(slant) * (x_mm - offset) - np.sin(slant) * y_mm
    inside = np.abs(y_mm) < STRIP_MM / 2 - 2
    return flip * distance[inside], light[inside]


def _share_beyond(rows: int, columns: int, per_mm: float, offset: float, size_mm: Floats) -> Floats:
    """Share of every pixel of the drawing that lies right of the slanted line."""
    fine = 16
    y = ((np.arange(rows * fine) + 0.5) / fine / per_mm - size_mm[1] / 2)[:, None]
    line = (np.tan(np.deg2rad(SLANT_DEG)) * y + offset + size_mm[0] / 2) * per_mm
    share = np.clip(np.arange(1, columns + 1)[None] - line, 0, 1)
    return share.reshape(rows, fine, columns).mean(axis=1)


def _response(profile: Floats) -> EdgeTruth:
    """Transform of the derivative of an edge; bins and differences are taken out."""
    spread = np.diff(profile)
    flat = int(0.3 / BIN_MM)
    window = np.ones(spread.size)
    window[:flat] = np.sin(np.linspace(0, np.pi / 2, flat)) ** 2
    window[-flat:] = window[:flat][::-1]
    size = 8 * spread.size
    frequency = np.fft.rfftfreq(size, BIN_MM)
    mtf = np.abs(np.fft.rfft(spread * window, size))
    mtf = mtf / mtf[0] / np.sinc(frequency * BIN_MM) ** 2
    keep = frequency < 60
    return EdgeTruth(
        _crossing(frequency, mtf, 0.5), _crossing(frequency, mtf, 0.1), frequency[keep], mtf[keep]
    )


def _crossing(frequency: Floats, mtf: Floats, level: float) -> float:
    first = int(np.argmax(mtf < level))
    above, below = mtf[first - 1], mtf[first]
    step = (above - level) / (above - below)
    return float(frequency[first - 1] + step * (frequency[first] - frequency[first - 1]))


@dataclass(frozen=True)
class GrainTruth:
    """What a large tint shows: lightness behind the eye, density behind 48 um, and its mean."""

    visual_graininess: float
    rms_granularity: float
    mean: float


@dataclass(frozen=True)
class GrainSpectrum:
    """Power of a tint's lightness behind the eye, by frequency in cycles/mm."""

    frequency: Floats
    power: Floats

    def seen(self, transfer: Floats | float = 1.0) -> float:
        """Visible grain behind a transfer, given at the frequencies."""
        return float(np.sqrt((self.power * transfer**2).sum()))


def grain_spectrum(
    printer: Printer,
    sent_ppi: int,
    camera: Camera,
    *,
    reflectance: float = 0.4,
    side_mm: float = 12.0,
    seed: int = 0,
    driver: Driver | None = None,
) -> GrainSpectrum:
    """Spectrum of an even tint as `true_grain` weighs it."""
    light = _tint(printer, sent_ppi, camera, reflectance, side_mm, (None, 0.0), seed, driver)
    frequency, power = _behind_the_eye(light, camera.pixels_per_mm)
    return GrainSpectrum(frequency, power)


def true_grain(
    printer: Printer,
    sent_ppi: int,
    camera: Camera,
    *,
    reflectance: float = 0.4,
    side_mm: float = 24.0,
    fault: str | None = None,
    strength: float = 0.0,
    seed: int = 0,
    driver: Driver | None = None,
) -> GrainTruth:
    """Print an even tint, photograph it without noise, and weigh its spectrum by the eye.

    Dooley and Shaw 1979 (from memory), f in cycles/degree: 5.05 exp(-0.138 f) (1 - exp(-0.1 f)).
    """
    light = _tint(printer, sent_ppi, camera, reflectance, side_mm, (fault, strength), seed, driver)
    mean = float(light.mean())
    _, power = _behind_the_eye(light, camera.pixels_per_mm)
    return GrainTruth(
        float(np.sqrt(power.sum())), _granularity(light, mean, camera.pixels_per_mm), mean
    )


def _tint(printer, sent_ppi, camera, reflectance, side_mm, fault, seed, driver):
    """Luminance of a photographed tint, its borders cut off."""
    pixels = round(side_mm * sent_ppi / MM_PER_INCH)
    drawing = np.full((pixels, pixels, 3), reflectance)
    printed = printer.print_drawing(drawing, sent_ppi, seed, driver=driver)
    shot = photograph(printed, camera.still, fault=fault[0], strength=fault[1], seed=seed)
    paper = camera.exposure * np.array(printed.paper) / np.mean(printed.paper)
    light = shot.linear / paper @ LUMINANCE
    border = int((AROUND_MM + 1.0) * camera.pixels_per_mm)
    return light[border:-border, border:-border]


def _behind_the_eye(light: Floats, pixels_per_mm: float) -> tuple[Floats, Floats]:
    """Frequency in cycles/mm, and power of lightness behind the eye."""
    mean = float(light.mean())
    taper = np.hanning(light.shape[0])[:, None] * np.hanning(light.shape[1])[None]
    power = np.abs(np.fft.fft2((light - mean) * taper)) ** 2 / (taper**2).sum() / light.size
    fy, fx = (np.fft.fftfreq(n, 1 / pixels_per_mm) for n in light.shape)
    frequency = np.hypot(fy[:, None], fx[None])
    degree = frequency * VIEWING_MM * np.pi / 180
    eye = 5.05 * np.exp(-0.138 * degree) * (1 - np.exp(-0.1 * degree))
    lightness_slope = 116 / 3 * mean ** (-2 / 3)
    return frequency, power * (eye * lightness_slope) ** 2


def _granularity(light: Floats, mean: float, pixels_per_mm: float) -> float:
    """1000 times the deviation of density behind a moving aperture of 48 um."""
    radius = 0.024 * pixels_per_mm
    reach = int(np.ceil(radius + 0.5))
    fine = (np.arange((2 * reach + 1) * 10) + 0.5) / 10 - reach - 0.5
    inside = (fine[:, None] ** 2 + fine[None] ** 2 <= radius**2).astype(float)
    aperture = inside.reshape(2 * reach + 1, 10, 2 * reach + 1, 10).mean(axis=(1, 3))
    seen = cv2.filter2D(light, -1, aperture / aperture.sum())[reach:-reach, reach:-reach]
    return float(1000 * np.log10(np.e) * seen.std() / mean)
