"""Noise that is not the print's ink: the texture of blank paper, and the noise of one shot."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.noise_spectrum import noise_spectrum, radial_mean
from dotloupe.measure.shot_pair import pair_shots
from dotloupe.measure.tint import checked_tint

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.measure.noise_spectrum import NoiseSpectrum

PLATEAU_FROM = 0.8
"""Share of the Nyquist frequency above which a photograph holds camera noise alone."""


def plateau(spectrum: NoiseSpectrum) -> float:
    """Mean power of the highest frequencies: the most that white camera noise can be."""
    nyquist = float(spectrum.frequency_x[-1])
    high = spectrum.radius >= PLATEAU_FROM * nyquist
    return float(np.mean(spectrum.total_power[high]))


def camera_noise_level(
    paper_plateau: float, tint_plateau: float, mean: float
) -> tuple[float, float]:
    """White camera noise power of one shot at a tint, and its standard error.

    Photon noise goes with the light, read noise does not, so from paper white (1.0) to a tint the
    power falls to between `mean` times itself and all of itself. The tint's own plateau holds
    camera noise and whatever the print adds, so it is believed inside these bounds and never
    exceeded; above them photon noise alone is assumed.
    """
    least, most = sorted((paper_plateau * mean, paper_plateau))
    if tint_plateau <= most:
        return tint_plateau, (most - least) / sqrt(12) / 2
    return least, (most - least) / sqrt(12)


def without_paper(
    spectrum: NoiseSpectrum,
    paper: FloatArray | tuple[FloatArray, FloatArray],
    mean_reflectance: float,
    pixels_per_mm: float,
    two_shots: bool,
) -> tuple[NoiseSpectrum, list[str]]:
    """Subtract paper texture and, from a spectrum of one shot, camera noise.

    Paper multiplies the light of the ink on it, so its texture counts with the square of the
    tint's reflectance over the paper's.

    Parameters
    ----------
    spectrum : NoiseSpectrum
        Of the tint, before any division by a camera's MTF.
    paper : ndarray, or pair of ndarray
        Blank paper in the tint's shot, or in both shots.
    mean_reflectance, pixels_per_mm : float
    two_shots : bool
        Whether the tint's spectrum is already free of camera noise.

    Returns
    -------
    NoiseSpectrum
    list of str
        What to know about the subtraction.
    """
    said: list[str] = []
    if isinstance(paper, tuple):
        one, two = (checked_tint(p, pixels_per_mm, name="blank paper") for p in paper)
        pair = pair_shots(one, two, pixels_per_mm)
        blank = noise_spectrum(
            pair.first, pixels_per_mm, second_shot=pair.second, shift_px=pair.shift_px
        )
        level = float(np.mean(one))
        noise = plateau(blank) - float(np.mean(blank.common_power[_high(blank)]))
        texture = radial_mean(blank)
    else:
        one = checked_tint(paper, pixels_per_mm, name="blank paper")
        blank = noise_spectrum(one, pixels_per_mm)
        level = float(np.mean(one))
        noise = plateau(blank)
        texture = radial_mean(blank)
        texture = replace(texture, power=texture.power - noise)
        said.append(
            "the paper's texture is known from one shot, less a camera noise taken as white"
        )
    ratio = mean_reflectance / level
    radius = spectrum.radius
    removed = ratio**2 * np.interp(radius, texture.frequency, texture.power)
    error = ratio**2 * np.interp(
        radius, texture.frequency, (texture.high - texture.low) / (2 * 1.96)
    )
    if not two_shots:
        floor, floor_error = camera_noise_level(noise, plateau(spectrum), ratio)
        removed = removed + floor
        error = np.hypot(error, floor_error)
        said.append(
            "camera noise is estimated from paper white in one shot and taken as white: weaker "
            "than a second shot"
        )
    return (
        replace(
            spectrum,
            power=(spectrum.power - removed).astype(np.float32),
            systematic=np.hypot(spectrum.systematic, error).astype(np.float32),
        ),
        said,
    )


def _high(spectrum: NoiseSpectrum) -> FloatArray:
    return np.asarray(spectrum.radius >= PLATEAU_FROM * float(spectrum.frequency_x[-1]))
