"""Verification: whether the content of a frame follows the picture beyond chance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np
import scipy

from dotloupe.registration.working_resolution import (
    prepare_level,
    sampling_ratio,
    working_homography,
)

if TYPE_CHECKING:
    from dotloupe.arrays import BoolArray, FloatArray
    from dotloupe.registration.window_shifts import WindowShifts

BAND_PX = 8.0
"""Content slower than this many working pixels is set aside: light and vignetting live there."""
RIM_PX = 3
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
    observed: FloatArray, picture: FloatArray, homography: FloatArray, coarseness: int
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
    """
    seen, predicted, inside = _predicted_pair(observed, picture, homography, coarseness)
    overlap = float(inside.mean())
    found = _displaced(seen, predicted, inside)
    if found is None:
        return Likeness(0.0, 0.0, 1.0, 1.0, overlap)
    here = float(found.surface[found.distance_px == 0][0])
    highest = found.surface == cv2.dilate(found.surface, np.ones((5, 5), np.uint8))
    peaks = (highest & (found.distance_px > 3))[2:-2, 2:-2]
    rival = float(found.surface[2:-2, 2:-2][peaks].max(initial=0.0)) / max(here, 1e-9)
    unexplained = _unexplained(found.seen, found.predicted)
    return Likeness(here, found.significance(here), unexplained, rival, overlap)


def significance_near(
    observed: FloatArray,
    picture: FloatArray,
    homography: FloatArray,
    coarseness: int,
    reach_px: float,
) -> float:
    """Significance of the best displacement within a reach, as in `Likeness`; 0 where none is.

    Parameters
    ----------
    observed, picture, homography, coarseness
        As of `likeness_at`.
    reach_px : float
        In observed pixels.
    """
    seen, predicted, inside = _predicted_pair(observed, picture, homography, coarseness)
    found = _displaced(seen, predicted, inside)
    if found is None:
        return 0.0
    reach = reach_px * seen.shape[0] / observed.shape[0]
    return found.significance(float(found.surface[found.distance_px <= reach].max()))


@dataclass(frozen=True)
class _Displaced:
    """A frame and its prediction, slow content set aside, and their correlation when displaced.

    By up to half the frame, so that the two still overlap enough to say what chance is, and by
    two pixels more, by which a peak at the rim is known.
    """

    seen: FloatArray
    predicted: FloatArray
    surface: FloatArray
    distance_px: FloatArray

    def significance(self, correlation: float) -> float:
        """Weight of a correlation in standard deviations, against what chance makes."""
        inner = self.surface[2:-2, 2:-2][self.distance_px[2:-2, 2:-2] > BAND_PX]
        chance = float(np.sqrt(np.mean(inner**2)))
        weight = -np.log1p(-(min(max(correlation, 0.0), 0.999) ** 2))
        return float(np.sqrt(weight)) / max(chance, 1e-3)


def _displaced(seen: FloatArray, predicted: FloatArray, inside: BoolArray) -> _Displaced | None:
    """A frame and its prediction correlated; None where too little of the picture is in sight."""
    if inside.sum() < 256 or min(seen.shape) < 16:
        return None
    a, b = band(seen, inside), band(predicted, inside)
    power = float(np.sqrt(np.sum(a * a) * np.sum(b * b)))
    if power <= 0:
        return None
    size = [scipy.fft.next_fast_len(2 * n, real=True) for n in a.shape]
    spectrum = scipy.fft.rfft2(a, size) * np.conj(scipy.fft.rfft2(b, size))
    reach = [(n + 1) // 2 + 1 for n in a.shape]
    rows, columns = (np.arange(-n, n + 1) for n in reach)
    surface = scipy.fft.irfft2(spectrum, size)[np.ix_(rows, columns)] / power
    return _Displaced(a, b, surface, np.hypot(rows[:, None], columns[None, :]))


def _unexplained(seen: FloatArray, predicted: FloatArray) -> float:
    """Structure of the residue as a share of the frame's.

    Noise and dots, blurred as they are, correlate over two working pixels and not over five;
    a picture does. The prediction may be sharper or softer than the frame.
    """
    parts = np.stack([predicted.ravel(), scipy.ndimage.laplace(predicted).ravel()], axis=1)
    fitted = parts @ np.linalg.lstsq(parts, seen.ravel(), rcond=None)[0]
    whole = _structure(seen)
    return _structure(seen - fitted.reshape(seen.shape)) / whole if whole > 0 else 1.0


def _structure(image: FloatArray) -> float:
    """Mean size of the autocovariance five to seven pixels away, above that of white noise."""
    size = [scipy.fft.next_fast_len(n + 8, real=True) for n in image.shape]
    shift = np.arange(-6, 7)
    spectrum = scipy.fft.rfft2(image, size)
    covariance = scipy.fft.irfft2(spectrum.real**2 + spectrum.imag**2, size)[np.ix_(shift, shift)]
    distance = np.hypot(shift[:, None], shift[None, :])
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
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Frame, its prediction from the picture, and where the picture reaches, all at one level."""
    level = prepare_level(observed, picture, homography, coarseness)
    y, x = np.ogrid[: level.observed.shape[0], : level.observed.shape[1]]
    inner = working_homography(level, homography)
    depth = inner[2, 0] * x + inner[2, 1] * y + inner[2, 2]
    column, row = ((along[0] * x + along[1] * y + along[2]) / depth for along in inner[:2])
    height, width = level.spline.shape
    inside = (column >= 0) & (column <= width - 1) & (row >= 0) & (row <= height - 1)
    inside &= depth * inner[2, 2] > 0
    places = np.stack([row[inside], column[inside]])
    predicted = np.zeros(level.observed.shape, np.float32)
    predicted[inside] = scipy.ndimage.map_coordinates(
        level.spline, places, np.float32, order=3, prefilter=False, mode="nearest"
    )
    return level.observed, predicted, inside


def band(
    image: FloatArray, inside: BoolArray, width_px: float = BAND_PX, *, rim_px: int = RIM_PX
) -> FloatArray:
    """Relative departure from the local mean, strong edges limited, zero outside and at the rim."""
    eroded = scipy.ndimage.binary_erosion(inside, iterations=rim_px, border_value=0)
    mask = np.asarray(eroded, dtype=np.float32)
    share = np.maximum(_blurred(mask, width_px), 1e-3)
    mean = _blurred(image * mask, width_px) / share
    floor = PAPER_BLACK * max(float(np.percentile(image[inside], 98)), 1e-9)
    departure = (image - mean) / np.maximum(mean + floor, floor) * mask
    spread = float(np.sqrt(np.sum(departure**2) / max(mask.sum(), 1.0)))
    limited = np.clip(departure, -3 * spread, 3 * spread)
    return np.asarray((limited - np.sum(limited * mask) / max(mask.sum(), 1.0)) * mask)


def _blurred(image: FloatArray, width_px: float) -> FloatArray:
    """Gaussian blur, nothing beyond the rim."""
    side = 2 * int(4 * width_px + 0.5) + 1
    blurred = cv2.GaussianBlur(image, (side, side), width_px, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(blurred, dtype=np.float32)
