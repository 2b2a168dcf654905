"""Grain of an even tint: noise spectrum, graininess, mottle, granularity, what is seen of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import Camera, camera_curve
from dotloupe.measure.grain import scores as granularity
from dotloupe.measure.grain.banding import find_banding, in_second_shot
from dotloupe.measure.grain.camera_blur import bands_without_blur, without_blur
from dotloupe.measure.grain.cautions import (
    CameraBlurIncluded,
    CameraNoiseIncluded,
    FixedPatternMayRemain,
    MostlyPaper,
    PaperIncluded,
    RegionBelowStandard,
    ShotTurned,
)
from dotloupe.measure.grain.even_tint import TILE_MM, checked_tint
from dotloupe.measure.grain.evenness import check_even_power
from dotloupe.measure.grain.noise_spectrum import detrended, noise_spectrum
from dotloupe.measure.grain.paper_noise import BlankPaper, blank_paper, plateau, without_paper
from dotloupe.measure.grain.ring_spectrum import misplaced, radial_mean, with_lines
from dotloupe.measure.grain.shot_pair import pair_shots
from dotloupe.measure.grain.visibility import visible_distance
from dotloupe.measure.seeing import lightness
from dotloupe.measure.wave import drawn
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.cautions import Caution
    from dotloupe.measure.grain.banding import Band, Banding
    from dotloupe.measure.grain.noise_spectrum import NoiseSpectrum
    from dotloupe.measure.grain.ring_spectrum import RingSpectrum
    from dotloupe.measure.grain.shot_pair import ShotPair

STANDARD_SIDE_MM = 12.7
"""Side of the region that the hardcopy standards ask for."""
MOSTLY_PAPER = 0.5
"""Share of the visible noise power taken out from which a reader has to know."""


@dataclass(frozen=True)
class Grain:
    """Grain of one tint. Every scalar has its 95 % interval beside it.

    Attributes
    ----------
    frequency : ndarray, shape (n,)
        Cycles/mm on the print.
    noise_power, noise_power_low, noise_power_high : ndarray, shape (n,)
        Radial mean of the noise power spectrum and its interval, reflectance^2 mm^2. After a
        subtraction it may fall below zero where nothing of the print is left.
    lightness_noise_power : ndarray, shape (n,)
        The same in L*^2 mm^2, relative to the paper.
    spectrum : NoiseSpectrum or None
        The two-dimensional spectrum without bands, before paper and the camera's blur are taken
        out; times the square of dL*/dR it is that of lightness. None where a whole capture was
        measured: many captures would fill the memory with them.
    mean_reflectance, mean_lightness : float
    graininess : float
        Density variation above 0.4 cycles/mm, of 42.3 um cells.
    mottle : float
        Density variation below 0.4 cycles/mm; light that is uneven beyond a plane counts too.
    tile_graininess, tile_mottle : float
        The same by tiles of 1.27 mm: within them, and between their means.
    graininess_without_banding : float
        `graininess` less what `bands` add to it.
    rms_granularity : float
        1000 times the density variation behind a circular aperture of 48 um.
    visual_graininess : float
        Lightness variation behind the eye at `viewing_distance_mm`, L* rms.
    visible_to_mm : float
        Distance beyond which the grain cannot be seen, by Barten's observer; it counts what the
        region is large enough to show.
    banding : float
        Lightness variation of all bands, L* rms; 0 where none stands out, and then the upper end
        of the interval is the strength that would have been found.
    bands : tuple of Band
    region_mm : (float, float)
        Width and height of the region measured.
    tiles : int
        Whole tiles of 1.27 mm in it.
    trusted_to : float
        Frequency up to which the spectrum holds, cycles/mm.
    shots : int
    moved_px : (float, float)
        Shift found between the two shots as given, (0, 0) with one.
    cautions : tuple of Caution
        What a reader of the numbers must know.
    """

    frequency: FloatArray
    noise_power: FloatArray
    noise_power_low: FloatArray
    noise_power_high: FloatArray
    lightness_noise_power: FloatArray
    spectrum: NoiseSpectrum | None
    mean_reflectance: float
    mean_lightness: float
    graininess: float
    graininess_interval: Interval
    mottle: float
    mottle_interval: Interval
    tile_graininess: float
    tile_graininess_interval: Interval
    tile_mottle: float
    tile_mottle_interval: Interval
    graininess_without_banding: float
    graininess_without_banding_interval: Interval
    rms_granularity: float
    rms_granularity_interval: Interval
    visual_graininess: float
    visual_graininess_interval: Interval
    viewing_distance_mm: float
    visible_to_mm: float
    visible_to_mm_interval: Interval
    banding: float
    banding_interval: Interval
    bands: tuple[Band, ...]
    region_mm: tuple[float, float]
    tiles: int
    trusted_to: float
    shots: int
    moved_px: tuple[float, float]
    cautions: tuple[Caution, ...]


def grain(
    reflectance: FloatArray,
    pixels_per_mm: float,
    *,
    second_shot: FloatArray | None = None,
    paper: FloatArray | tuple[FloatArray, FloatArray] | BlankPaper | None = None,
    camera_mtf: Camera | None = None,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
) -> Grain:
    """Measure the grain of an even tint.

    Parameters
    ----------
    reflectance : ndarray, shape (h, w) or (h, w, 3)
        Linear reflectance of an even tint of at least 1.27 mm a side, relative to the paper.
        Linear RGB is taken as its luminance (ITU-R BT.709 weights).
    pixels_per_mm : float
        Sampling of the print.
    second_shot : ndarray, optional
        The same piece of the print photographed again. Noise that the two do not share, the
        camera's, is left out. A shift between the two is found and undone. The sensor's fixed
        pattern leaves too if the print moved in the frame between the shots, and not otherwise.
    paper : ndarray, pair of ndarray or BlankPaper, optional
        Blank paper in the same shot (or in both shots): its texture, and with one shot the
        camera's noise, are subtracted. For many tints `blank_paper` measures it once.
    camera_mtf : (frequency_cycles_per_mm, mtf) or object with .frequency and .mtf, optional
        Transfer of the camera, taken out where it is at least 0.2.
    viewing_distance_mm : float
        From which the print is looked at.

    Returns
    -------
    Grain

    Raises
    ------
    RegionError
        Where the region is no even tint (too small, clipped, an edge inside, uneven grain), or the
        two shots do not show the same piece of a print.
    """
    if not (np.isfinite(viewing_distance_mm) and viewing_distance_mm > 0):
        raise RegionError(f"the viewing distance must be above zero, not {viewing_distance_mm} mm")
    first = checked_tint(reflectance, pixels_per_mm)
    pair = None
    if second_shot is not None:
        second = checked_tint(second_shot, pixels_per_mm, name="second shot of the tint")
        pair = pair_shots(first, second, pixels_per_mm)
        first = pair.first
    mean = float(np.mean(first, dtype=np.float64))
    slope = granularity.lightness_per_reflectance(mean)
    spectrum, bands = _spectrum_and_bands(first, pair, pixels_per_mm, slope)
    measured = spectrum.rings
    aperiodic = measured if pair is None else misplaced(measured, pair.error_px / pixels_per_mm)
    cautions: tuple[Caution, ...] = ()
    if paper is not None:
        whole = aperiodic
        blank = paper if isinstance(paper, BlankPaper) else blank_paper(paper, pixels_per_mm)
        aperiodic, cautions = without_paper(whole, blank, mean, pair is not None)
        cautions += _paper_caution(whole, aperiodic, viewing_distance_mm)
    trusted = aperiodic.nyquist
    if camera_mtf is not None:
        camera = camera_curve(camera_mtf)
        aperiodic, trusted = without_blur(aperiodic, camera)
        bands = bands_without_blur(bands, camera)
    rings = with_lines(aperiodic, [(1 / b.period_mm, b.amplitude**2 / 2) for b in bands.bands])

    region_mm = (first.shape[1] / pixels_per_mm, first.shape[0] / pixels_per_mm)
    radial = radial_mean(rings)
    cautions += _cautions(region_mm, pair, paper is not None, camera_mtf is not None)
    if pair is None and paper is None:
        eye = granularity.eye_power(measured.frequency, viewing_distance_mm)
        cautions += (_camera_noise(measured, eye),)
    scores = {
        "graininess": granularity.graininess(rings, mean),
        "mottle": granularity.mottle(rings, mean),
        "tile_graininess": granularity.tile_graininess(rings, mean),
        "tile_mottle": granularity.tile_mottle(rings, mean),
        "graininess_without_banding": granularity.graininess(aperiodic, mean),
        "rms_granularity": granularity.rms_granularity(rings, mean),
        "visual_graininess": granularity.visual_graininess(rings, mean, viewing_distance_mm),
        "visible_to_mm": visible_distance(rings, radial, mean),
    }
    named: dict[str, Any] = {}
    for name, score in scores.items():
        named[name], named[f"{name}_interval"] = score.value, score.interval
    return Grain(
        frequency=radial.frequency,
        noise_power=radial.power,
        noise_power_low=radial.low,
        noise_power_high=radial.high,
        lightness_noise_power=radial.power * slope**2,
        spectrum=spectrum,
        mean_reflectance=mean,
        mean_lightness=float(lightness(mean)),
        viewing_distance_mm=float(viewing_distance_mm),
        banding=bands.strength,
        banding_interval=bands.strength_interval,
        bands=bands.bands,
        region_mm=region_mm,
        tiles=int(region_mm[0] / TILE_MM + 0.005) * int(region_mm[1] / TILE_MM + 0.005),
        trusted_to=trusted,
        shots=1 if pair is None else 2,
        moved_px=(0.0, 0.0) if pair is None else pair.moved_px,
        cautions=cautions,
        **named,
    )


def _spectrum_and_bands(
    first: FloatArray, pair: ShotPair | None, pixels_per_mm: float, slope: float
) -> tuple[NoiseSpectrum, Banding]:
    """Find bands, and the spectrum of what is left without them."""
    field = detrended(first)
    found = find_banding(field, pixels_per_mm, slope)
    if pair is None:
        rest = field - drawn(found.waves, field.shape)
        check_even_power(rest, rest)
        return noise_spectrum(rest, pixels_per_mm), found
    other = detrended(pair.second)
    found, waves = in_second_shot(found, other, pixels_per_mm, slope)
    rest, second = field - drawn(found.waves, field.shape), other - drawn(waves, field.shape)
    check_even_power(rest, second)
    spectrum = noise_spectrum(rest, pixels_per_mm, second_shot=second, shift_px=pair.shift_px)
    return spectrum, found


def _cautions(
    region_mm: tuple[float, float], pair: ShotPair | None, paper: bool, camera_mtf: bool
) -> tuple[Caution, ...]:
    cautions: list[Caution] = []
    if min(region_mm) < STANDARD_SIDE_MM * 0.995:
        cautions.append(RegionBelowStandard(*region_mm, STANDARD_SIDE_MM))
    if pair is not None:
        cautions.append(FixedPatternMayRemain())
        if pair.turned_px:
            cautions.append(ShotTurned(pair.turned_px))
    if not paper:
        cautions.append(PaperIncluded())
    if not camera_mtf:
        cautions.append(CameraBlurIncluded())
    return tuple(cautions)


def _paper_caution(
    whole: RingSpectrum, without: RingSpectrum, distance_mm: float
) -> tuple[Caution, ...]:
    """Where most of what is visible of a tint is the paper's and not the print's."""
    weight = whole.area * granularity.eye_power(whole.frequency, distance_mm)
    visible = float(np.sum(weight * whole.power))
    share = 1.0 - float(np.sum(weight * without.power)) / max(visible, 1e-300)
    return (MostlyPaper(min(share, 1.0)),) if share >= MOSTLY_PAPER else ()


def _camera_noise(rings: RingSpectrum, eye: FloatArray) -> Caution:
    """How much of what is visible could be noise of the camera, from the highest frequencies."""
    weight = rings.area * eye
    share = plateau(rings) * weight.sum() / max(float(np.sum(weight * rings.power)), 1e-300)
    return CameraNoiseIncluded(min(float(share), 1.0))
