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


def camera_transfer(
    camera: Camera, shot: Shot, band: int, fx: FloatArray, fy: FloatArray, disc_mm: float
) -> FloatArray:
    """Transfer of everything before the sampling, at one defocus disc, for one band.

    Diffraction, aberration, defocus, the pixel's square aperture turned as the sheet lies, and
    motion. `fx`, `fy` are along the sheet's axes. Perspective changes the pixel's size on the
    sheet by parts in a thousand over a frame, which is left out: the transfer is that of the
    middle of the frame, and exactly what is applied.
    """
    radial = np.hypot(fx, fy)
    cutoff = 1000.0 / (camera.wavelength_um[band] * sheet_f_number(camera, shot))
    pixel_mm = 1.0 / shot.pixels_per_mm
    sigma_mm = camera.aberration_px * pixel_mm
    transfer = diffraction_transfer(radial, cutoff) * disc_transfer(radial, disc_mm)
    transfer *= np.exp(-2.0 * (np.pi * sigma_mm * radial) ** 2)
    angle = np.deg2rad(shot.rotation_deg)
    across = fx * np.cos(angle) - fy * np.sin(angle)
    down = fx * np.sin(angle) + fy * np.cos(angle)
    side_mm = camera.fill * pixel_mm
    transfer *= np.sinc(across * side_mm) * np.sinc(down * side_mm)
    move_x, move_y = (um / 1000.0 for um in shot.motion_um)
    if move_x or move_y:
        transfer *= np.sinc(across * move_x + down * move_y)
    return transfer


def demosaic_transfer(band: int, fx: FloatArray, fy: FloatArray, shot: Shot) -> FloatArray:
    """Mean transfer of the bilinear demosaic for one band, along the sheet's axes.

    Red and blue are filled in by a tent of two pixels each way; green by the mean of its four
    neighbours at every other place.
    """
    angle = np.deg2rad(shot.rotation_deg)
    across = (fx * np.cos(angle) - fy * np.sin(angle)) / shot.pixels_per_mm
    down = (fx * np.sin(angle) + fy * np.cos(angle)) / shot.pixels_per_mm
    cos_x, cos_y = np.cos(2.0 * np.pi * across), np.cos(2.0 * np.pi * down)
    if band == 1:
        return 0.5 + 0.25 * (cos_x + cos_y)
    return 0.25 * (1.0 + cos_x) * (1.0 + cos_y)
