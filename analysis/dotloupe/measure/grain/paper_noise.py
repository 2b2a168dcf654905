"""Noise that is not the print's ink: the texture of blank paper, and the noise of one shot."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.grain.cautions import CameraNoiseEstimated, PaperFromOneShot
from dotloupe.measure.grain.even_tint import checked_tint
from dotloupe.measure.grain.noise_spectrum import noise_spectrum
from dotloupe.measure.grain.ring_spectrum import radial_mean, subtracted
from dotloupe.measure.grain.shot_pair import pair_shots

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.cautions import Caution
    from dotloupe.measure.grain.ring_spectrum import RadialSpectrum, RingSpectrum

PLATEAU_FROM = 0.8
"""Share of the Nyquist frequency above which a photograph holds camera noise alone."""


@dataclass(frozen=True)
class BlankPaper:
    """What blank paper in the shot of a tint, or in both shots of it, adds to the tint's noise.

    Attributes
    ----------
    texture : RadialSpectrum
        Of the paper itself.
    noise : float
        Power of the camera's noise in one shot, reflectance^2 mm^2.
    level : float
        Mean reflectance.
    shots : int
    """

    texture: RadialSpectrum
    noise: float
    level: float
    shots: int


def plateau(rings: RingSpectrum, *, camera_alone: bool = False) -> float:
    """Mean power of the highest frequencies: the most that white camera noise can be.

    With `camera_alone` the part that two shots have in common is left out.
    """
    high = rings.frequency >= PLATEAU_FROM * rings.nyquist
    weight = rings.area[high]
    square = rings.noise_square[high] + (0 if camera_alone else rings.print_square[high])
    return float(np.sqrt(max(np.average(square, weights=weight), 0.0)))


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
    tint: RingSpectrum,
    paper: BlankPaper,
    mean_reflectance: float,
    two_shots: bool,
) -> tuple[RingSpectrum, tuple[Caution, ...]]:
    """Subtract paper texture and, from a spectrum of one shot, camera noise.

    Paper multiplies the light of the ink on it, so its texture counts with the square of the
    tint's reflectance over the paper's.

    Parameters
    ----------
    tint : RingSpectrum
        Before any division by a camera's MTF.
    paper : BlankPaper
    mean_reflectance : float
    two_shots : bool
        Whether the tint's spectrum is already free of camera noise.

    Returns
    -------
    RingSpectrum
    tuple of Caution
        What to know about the subtraction.
    """
    texture, ratio = paper.texture, mean_reflectance / paper.level
    removed = ratio**2 * np.interp(tint.frequency, texture.frequency, texture.power)
    error = ratio**2 * np.interp(tint.frequency, texture.frequency, texture.error)
    cautions: list[Caution] = []
    if paper.shots == 1:
        cautions.append(PaperFromOneShot())
    if not two_shots:
        floor, floor_error = camera_noise_level(paper.noise, plateau(tint), ratio)
        removed = removed + floor
        error = np.hypot(error, floor_error)
        cautions.append(CameraNoiseEstimated())
    return subtracted(tint, removed, error), tuple(cautions)


def blank_paper(
    paper: FloatArray | tuple[FloatArray, FloatArray], pixels_per_mm: float
) -> BlankPaper:
    """Measure blank paper once for all tints of its shot.

    Parameters
    ----------
    paper : ndarray, or pair of ndarray
        Blank paper in the tints' shot, or in both shots of them.
    pixels_per_mm : float

    Raises
    ------
    RegionError
        Where it is no even area, or the two shots do not show the same piece of it.
    """
    if isinstance(paper, tuple):
        one, two = (checked_tint(p, pixels_per_mm, name="blank paper") for p in paper)
        pair = pair_shots(one, two, pixels_per_mm)
        blank = noise_spectrum(
            pair.first, pixels_per_mm, second_shot=pair.second, shift_px=pair.shift_px
        ).rings
        noise = plateau(blank, camera_alone=True)
        return BlankPaper(radial_mean(blank), noise, float(np.mean(one)), shots=2)
    one = checked_tint(paper, pixels_per_mm, name="blank paper")
    blank = noise_spectrum(one, pixels_per_mm).rings
    texture, noise = radial_mean(blank), plateau(blank)
    texture = replace(texture, power=texture.power - noise)
    return BlankPaper(texture, noise, float(np.mean(one)), shots=1)
