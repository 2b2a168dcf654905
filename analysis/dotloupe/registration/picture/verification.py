"""Verification: whether the content of a frame follows the picture beyond chance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft, ndimage

from dotloupe.registration.homography import map_points
from dotloupe.registration.working_resolution import (
    prepare_level,
    sampling_ratio,
    working_homography,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.registration.window_shifts import WindowShifts

BAND_PX = 8.0
"""Content slower than this many working pixels is set aside: light and vignetting live there."""
PAPER_BLACK = 0.05
"""Reflectance of a print's black against its white, added before departures are made relative."""
MOST_PIXELS = 2.0e6
"""Frames are judged at a resolution of at most this many working pixels."""

LEAST_SIGNIFICANCE = 8.0
"""Standard deviations from which a likeness is no chance, though the best of many was taken."""
SETTLED_SIGNIFICANCE = 12.0
CLEAR_CORRELATION = 0.9
"""Of a frame and its prediction where grain is averaged away. Right places of soft pictures came to
0.97 and more, the likest wrong ones to 0.82."""
LEAST_CORRELATION = 0.3
LEAST_AGREEMENT = 0.75
MOST_UNEXPLAINED = 0.5
"""A frame more than half of whose structure its prediction leaves shows something else."""
REPEATED = 0.85
"""A frame whose likeness at another displacement reaches this share shows a repeated pattern."""


@dataclass(frozen=True)
class Likeness:
    """How a frame follows the picture under one homography.

    Attributes
    ----------
    correlation : float
        Of the frame with its prediction, slow content set aside, over the overlap.
    significance : float
        The weight of that correlation, in standard deviations: root of the log-likelihood ratio
        that it would have for as many independent points as the two images hold. That number
        is told by how they correlate when displaced against each other.
    unexplained : float
        Share of the frame's structure that the prediction leaves: how strongly the residue hangs
        together beyond the reach of noise, as a share of how the frame itself does.
    rival : float
        Highest correlation at another displacement, as a share of the correlation.
    overlap : float
        Share of the frame that shows the picture.
    clearest : float
        Highest correlation at any working resolution at which the likeness is beyond doubt: where
        grain and dots are averaged away, the right place leaves hardly anything unexplained.
    """

    correlation: float
    significance: float
    unexplained: float
    rival: float
    overlap: float
    clearest: float = 0.0


def judge_likeness(observed: FloatArray, picture: FloatArray, homography: FloatArray) -> Likeness:
    """Likeness of a frame and its prediction at the working resolution that tells most.

    Parameters
    ----------
    observed, picture : ndarray of shape (rows, columns)
        Linear light of the frame and of the picture sent.
    homography : ndarray of shape (3, 3)
        Observed pixel (x, y, 1) to picture pixel.
    """
    pixels = _working_pixels(observed, homography)
    start = max(1, int(np.ceil(np.sqrt(pixels / MOST_PIXELS))))
    judged = [likeness_at(observed, picture, homography, start * n) for n in (1, 2, 4)]
    best = max(judged, key=lambda one: one.significance)
    sure = (one.correlation for one in judged if one.significance >= SETTLED_SIGNIFICANCE)
    return replace(best, clearest=max(sure, default=0.0))


def likeness_at(
    observed: FloatArray,
    picture: FloatArray,
    homography: FloatArray,
    coarseness: int,
    *,
    reach_px: float = 0.0,
) -> Likeness:
    """Likeness at one working resolution; see `prepare_level`.

    Parameters
    ----------
    observed, picture : ndarray of shape (rows, columns)
        Linear light of the frame and of the picture sent.
    homography : ndarray of shape (3, 3)
        Observed pixel (x, y, 1) to picture pixel.
    coarseness : int
        Further reduction by this factor.
    reach_px : float
        Displacement, in observed pixels, within which the best correlation is taken for that
        under the homography.
    """
    seen, predicted, inside = _predicted_pair(observed, picture, homography, coarseness)
    overlap = float(inside.mean())
    nothing = Likeness(0.0, 0.0, 1.0, 1.0, overlap)
    if overlap * inside.size < 256 or min(seen.shape) < 16:
        return nothing
    a, b = band(seen, inside), band(predicted, inside)
    power = float(np.sqrt(np.sum(a * a) * np.sum(b * b)))
    if power <= 0:
        return nothing
    size = [fft.next_fast_len(2 * n, real=True) for n in a.shape]
    spectrum = fft.rfft2(a, size) * np.conj(fft.rfft2(b, size))
    surface = fft.irfft2(spectrum, size) / power
    shift = [np.minimum(np.arange(n), n - np.arange(n)) for n in surface.shape]
    distance = np.hypot(shift[0][:, None], shift[1][None, :])
    # Up to half the frame, displaced frames still overlap enough to say what chance is.
    near = (shift[0][:, None] < a.shape[0] / 2) & (shift[1][None, :] < a.shape[1] / 2)
    chance = float(np.sqrt(np.mean(surface[near & (distance > BAND_PX)] ** 2)))
    step = observed.shape[0] / a.shape[0]
    here = float(surface[distance <= reach_px / step].max())
    peaks = (surface == ndimage.maximum_filter(surface, 5, mode="wrap")) & near & (distance > 3)
    rival = float(surface[peaks].max(initial=0.0)) / max(here, 1e-9)
    weight = -np.log1p(-(min(max(here, 0.0), 0.999) ** 2))
    significance = float(np.sqrt(weight)) / max(chance, 1e-3)
    return Likeness(here, significance, _unexplained(a, b), rival, overlap)


def _unexplained(seen: FloatArray, predicted: FloatArray) -> float:
    """Structure of the residue as a share of the frame's.

    Noise and dots, blurred as they are, correlate over two working pixels and not over five;
    a picture does. The prediction may be sharper or softer than the frame.
    """
    parts = np.stack([predicted.ravel(), ndimage.laplace(predicted).ravel()], axis=1)
    fitted = parts @ np.linalg.lstsq(parts, seen.ravel(), rcond=None)[0]
    whole = _structure(seen)
    return _structure(seen - fitted.reshape(seen.shape)) / whole if whole > 0 else 1.0


def _structure(image: FloatArray) -> float:
    """Mean size of the autocovariance five to seven pixels away, above that of white noise."""
    size = [fft.next_fast_len(n + 8, real=True) for n in image.shape]
    covariance = fft.irfft2(np.abs(fft.rfft2(image, size)) ** 2, size)
    shift = [np.minimum(np.arange(n), n - np.arange(n)) for n in covariance.shape]
    distance = np.hypot(shift[0][:, None], shift[1][None, :])
    ring = float(np.mean(np.abs(covariance[(distance >= 5) & (distance < 7)])))
    near = float(np.sqrt(np.sum(covariance[distance < 5] ** 2)))
    return max(ring - np.sqrt(2 / np.pi) * near / np.sqrt(image.size), 0.0)


def share_agreeing(shifts: WindowShifts) -> float:
    """Share of the windows' testimony that puts the frame where the homography does.

    A window agrees where its shift is within three standard deviations, half a working pixel
    granted for paper and lens; it counts by how well it knows its place. Where a likeness rests
    on a few strong outlines that happen to coincide, most other windows disagree.
    """
    granted = (0.5 * shifts.step_px) ** 2
    variance = np.einsum("nii->n", shifts.covariance) + 2 * granted
    inverse = np.linalg.inv(shifts.covariance + granted * np.eye(2))
    distance = np.einsum("ni,nij,nj->n", shifts.shifts, inverse, shifts.shifts)
    counts = (shifts.correlation > LEAST_CORRELATION) / variance
    total = float(counts.sum())
    return float(counts[distance < 9.0].sum()) / total if total > 0 else 0.0


def _working_pixels(observed: FloatArray, homography: FloatArray) -> float:
    centre = (np.array(observed.shape[::-1]) - 1) / 2
    return observed.size / max(1, int(sampling_ratio(homography, centre))) ** 2


def _predicted_pair(
    observed: FloatArray, picture: FloatArray, homography: FloatArray, coarseness: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Frame, its prediction from the picture, and where the picture reaches, all at one level."""
    level = prepare_level(observed, picture, homography, coarseness)
    y, x = np.mgrid[: level.observed.shape[0], : level.observed.shape[1]]
    inner = working_homography(level, homography)
    points = np.stack([x, y], axis=-1).astype(float)
    mapped = map_points(inner, points)
    depth = points @ inner[2, :2] + inner[2, 2]
    limit = np.array(level.spline.shape[::-1]) - 1
    inside = np.all((mapped >= 0) & (mapped <= limit), axis=-1) & (depth * inner[2, 2] > 0)
    predicted = np.zeros(level.observed.shape)
    predicted[inside] = ndimage.map_coordinates(
        level.spline, mapped[inside].T[::-1], order=3, prefilter=False, mode="nearest"
    )
    return level.observed.astype(float), predicted, inside


def band(image: FloatArray, inside: FloatArray, width_px: float = BAND_PX) -> FloatArray:
    """Relative departure from the local mean, strong edges limited, zero outside and at the rim."""
    mask = ndimage.binary_erosion(inside, iterations=3, border_value=0).astype(float)
    share = np.maximum(ndimage.gaussian_filter(mask, width_px, mode="constant"), 1e-3)
    mean = ndimage.gaussian_filter(image * mask, width_px, mode="constant") / share
    floor = PAPER_BLACK * max(float(np.percentile(image[inside], 98)), 1e-9)
    departure = (image - mean) / np.maximum(mean + floor, floor) * mask
    spread = float(np.sqrt(np.sum(departure**2) / max(mask.sum(), 1.0)))
    limited = np.clip(departure, -3 * spread, 3 * spread)
    return np.asarray((limited - np.sum(limited * mask) / max(mask.sum(), 1.0)) * mask)
