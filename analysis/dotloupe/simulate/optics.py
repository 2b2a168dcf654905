"""Transfer of lens, pixel and motion, in cycles/mm on the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import j1

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.camera import Camera, Shot


def diffraction_transfer(frequency: FloatArray, cutoff: float) -> FloatArray:
    """Transfer of a perfect lens with a round pupil, zero from `cutoff` on."""
    s = np.minimum(np.abs(frequency) / cutoff, 1.0)
    return (2.0 / np.pi) * (np.arccos(s) - s * np.sqrt(1.0 - s * s))


def disc_transfer(frequency: FloatArray, diameter_mm: float) -> FloatArray:
    """Transfer of an even disc, the geometric image of a point out of focus."""
    x = np.pi * diameter_mm * np.asarray(frequency, dtype=float)
    safe = np.where(x == 0.0, 1.0, x)
    return np.where(x == 0.0, 1.0, 2.0 * j1(safe) / safe)


def sheet_f_number(camera: Camera, shot: Shot) -> float:
    """Width of the cone of light at the sheet: height over width, N (1 + m) / m."""
    magnification = shot.pixels_per_mm * camera.pitch_um / 1000.0
    return camera.f_number * (1.0 + magnification) / magnification


def defocus_disc_mm(camera: Camera, shot: Shot, height_mm: FloatArray) -> FloatArray:
    """Diameter on the sheet of the disc of a point `height_mm` out of focus."""
    return np.abs(height_mm) / sheet_f_number(camera, shot)


def lens_transfer(
    camera: Camera, shot: Shot, band: int, frequency: FloatArray, disc_mm: float
) -> FloatArray:
    """Transfer of the lens for one band at radial `frequency`, out of focus by a disc.

    Diffraction, aberrations and defocus multiplied, which is what a small defocus allows.
    """
    cutoff = 1000.0 / (camera.wavelength_um[band] * sheet_f_number(camera, shot))
    sigma_mm = camera.aberration_px / shot.pixels_per_mm
    sharp = diffraction_transfer(frequency, cutoff) * disc_transfer(frequency, disc_mm)
    return sharp * np.exp(-2.0 * (np.pi * sigma_mm * frequency) ** 2)


def _frame_axes(shot: Shot, fx: FloatArray, fy: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Frequencies along the frame's axes, from those along the sheet's."""
    angle = np.deg2rad(shot.rotation_deg)
    c, s = np.float32(np.cos(angle)), np.float32(np.sin(angle))
    return fx * c - fy * s, fx * s + fy * c


def pixel_transfer(camera: Camera, shot: Shot, fx: FloatArray, fy: FloatArray) -> FloatArray:
    """Transfer of the pixel's square aperture, turned as the sheet lies, and of motion.

    Perspective changes the pixel's size on the sheet by parts in a thousand over a frame, which
    is left out: this is the middle of the frame's, and exactly what is applied.
    """
    across, down = _frame_axes(shot, fx, fy)
    side_mm = np.float32(camera.fill / shot.pixels_per_mm)
    transfer = np.sinc(across * side_mm) * np.sinc(down * side_mm)
    move_x, move_y = (np.float32(um / 1000.0) for um in shot.motion_um)
    if move_x or move_y:
        transfer *= np.sinc(across * move_x + down * move_y)
    return transfer


def demosaic_transfer(band: int, fx: FloatArray, fy: FloatArray, shot: Shot) -> FloatArray:
    """Mean transfer of the bilinear demosaic for one band, along the sheet's axes.

    Red and blue are filled in by a tent of two pixels each way; green by the mean of its four
    neighbours at every other place.
    """
    across, down = _frame_axes(shot, fx, fy)
    cos_x = np.cos(2.0 * np.pi * across / shot.pixels_per_mm)
    cos_y = np.cos(2.0 * np.pi * down / shot.pixels_per_mm)
    if band == 1:
        return 0.5 + 0.25 * (cos_x + cos_y)
    return 0.25 * (1.0 + cos_x) * (1.0 + cos_y)
