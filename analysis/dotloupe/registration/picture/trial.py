"""One proposed place of a frame in a picture: refined, judged, and what the judgement says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.errors import DotloupeError
from dotloupe.registration.homography import jacobian, map_points
from dotloupe.registration.picture.verification import (
    CLEAR_CORRELATION,
    LEAST_AGREEMENT,
    LEAST_SIGNIFICANCE,
    MOST_UNEXPLAINED,
    SETTLED_SIGNIFICANCE,
    Likeness,
    judge_likeness,
    share_agreeing,
)
from dotloupe.registration.refinement import Refinement, refine_homography
from dotloupe.registration.working_resolution import block_mean, block_to_full, sampling_ratio

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.registration.picture.features import Candidate

PROMISING_SIGNIFICANCE = 4.5
WANDER = 3.0
"""A refinement may move by this many times the error that its candidate admits."""
MOST_UNCERTAIN_PX = 0.2
"""Standard error of a place worth naming, in pixels of the picture or of the photograph,
whichever are the coarser: twice the error that is promised."""
MOST_SOFT_PX = 0.25
"""As much for pictures whose own detail is soft, a fifth of its finest where that is less. What is
found lies within half a pixel, which is two standard errors."""
STRETCH = 3.0
"""Most that a homography may scale one direction more than another, or one corner than another."""
EVEN_FREQUENCY = 0.5 / np.sqrt(2)
"""Cycles/pixel, root mean square over a disc out to half a cycle."""


@dataclass(frozen=True)
class Trial:
    """A refined candidate with its likeness.

    Attributes
    ----------
    refinement : Refinement
        Its homography is that of the whole frame.
    likeness : Likeness
    agreement : float
        See `share_agreeing`.
    uncertainty_px : float
        Standard error of the homography over what the frame shows, in picture pixels.
    scale : float
        Observed pixels per picture pixel.
    finest_px : float
        See `finest_detail_px`.
    """

    refinement: Refinement
    likeness: Likeness
    agreement: float
    uncertainty_px: float
    scale: float
    finest_px: float

    @property
    def holds(self) -> bool:
        """Whether the frame follows the picture there, in most of what it shows."""
        finest_px = self.finest_px if self.clear else 1.0
        error_px = self.uncertainty_px * min(self.scale, 1.0)
        return self.follows and error_px <= min(MOST_UNCERTAIN_PX * finest_px, MOST_SOFT_PX)

    @property
    def follows(self) -> bool:
        """Whether the content of the frame is that of the place, however well it tells where."""
        return (
            self.likeness.significance >= LEAST_SIGNIFICANCE
            and self.likeness.unexplained <= MOST_UNEXPLAINED
            and self.agreement >= LEAST_AGREEMENT
        )

    @property
    def settled(self) -> bool:
        """Whether no other place need be tried."""
        sure = self.likeness.significance >= SETTLED_SIGNIFICANCE
        return self.follows and sure and (self.holds or self.clear)

    @property
    def clear(self) -> bool:
        """Whether next to nothing is unexplained once grain and dots are averaged away."""
        return self.likeness.clearest >= CLEAR_CORRELATION

    @property
    def rank(self) -> tuple[bool, float]:
        """Order among trials."""
        return self.holds, self.likeness.significance


def try_candidate(
    frame: FloatArray,
    small: FloatArray,
    sent: FloatArray,
    candidate: Candidate,
    scales: tuple[float, float],
) -> Trial | None:
    """Refine and judge a candidate, first on a small frame; None where it leads nowhere."""
    step = frame.shape[0] // small.shape[0]
    to_frame = block_to_full(step)
    start = candidate.homography @ to_frame
    scale = sampling_ratio(start, middle(small))
    coarse = _refined(small, sent, start, candidate.error_px * scale, scales, step)
    if coarse is None:
        return None
    likeness = judge_likeness(small, sent, coarse.homography)
    if likeness.significance < PROMISING_SIGNIFICANCE:
        return _trial(small, sent, coarse, likeness, step)
    block = max(1, int(sampling_ratio(coarse.homography, middle(small)) * step))
    reduced = block_mean(frame, block)
    to_reduced = block_to_full(block)
    start = coarse.homography @ np.linalg.inv(to_frame) @ to_reduced
    fine = _refined(reduced, sent, start, step / block, scales, block)
    if fine is None:
        return None
    likeness = judge_likeness(reduced, sent, fine.homography)
    return _trial(reduced, sent, fine, likeness, block)


def _trial(
    frame: FloatArray, sent: FloatArray, refinement: Refinement, likeness: Likeness, block: int
) -> Trial:
    """Trial on a frame reduced by blocks, its homography that of the whole frame."""
    scale = sampling_ratio(refinement.homography, middle(frame))
    agreement = share_agreeing(refinement.shifts)
    uncertainty_px = refinement.frame_uncertainty_px / scale
    homography = refinement.homography @ np.linalg.inv(block_to_full(block))
    whole = replace(refinement, homography=homography / homography[2, 2])
    finest_px = finest_detail_px(sent, whole.homography, tuple(n * block for n in frame.shape))
    return Trial(whole, likeness, agreement, uncertainty_px, scale * block, finest_px)


def _refined(
    frame: FloatArray,
    sent: FloatArray,
    start: FloatArray,
    error_px: float,
    scales: tuple[float, float],
    step: int,
) -> Refinement | None:
    """Refinement of a plausible start that stays near it."""
    limits = (scales[0] / step, scales[1] / step)
    if not plausible(start, frame.shape, limits):
        return None
    try:
        refinement = refine_homography(frame, sent, start, start_error_px=error_px)
    except DotloupeError:
        return None
    if not plausible(refinement.homography, frame.shape, limits):
        return None
    points = refinement.shifts.centres[refinement.used]
    moved = map_points(refinement.homography, points) - map_points(start, points)
    allowed = WANDER * max(error_px, 1.0) / sampling_ratio(start, middle(frame))
    return refinement if np.sqrt(np.mean(np.sum(moved**2, axis=1))) < allowed else None


def plausible(homography: FloatArray, shape: tuple[int, ...], scales: tuple[float, float]) -> bool:
    """Whether a camera may see a print so: not mirrored, not torn, in the range of scales."""
    height, width = shape
    corners = np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], float)
    points = np.vstack([corners, corners.mean(axis=0)])
    depth = points @ homography[2, :2] + homography[2, 2]
    if np.any(depth * np.sign(depth[-1]) <= 0) or np.linalg.det(homography) * depth[-1] <= 0:
        return False
    along = [np.linalg.svd(jacobian(homography, point), compute_uv=False) for point in points]
    stretch = np.maximum(np.array(along), 1e-9)
    middle = 1.0 / np.sqrt(np.prod(stretch[-1]))
    size = np.sqrt(np.prod(stretch, axis=1))
    return bool(
        scales[0] <= middle <= scales[1]
        and np.max(stretch[:, 0] / stretch[:, 1]) < STRETCH
        and size.max() / size.min() < STRETCH
    )


def middle(frame: FloatArray) -> FloatArray:
    """Middle of a frame, as a pixel (x, y)."""
    return (np.array(frame.shape[::-1]) - 1) / 2


def finest_detail_px(sent: FloatArray, homography: FloatArray, shape: tuple[int, ...]) -> float:
    """How many pixels of a picture its finest detail spans where a frame shows it, 1 at least.

    The inverse of the root mean square frequency of its slopes, against that of a picture whose
    slopes fill its sampling evenly.

    Parameters
    ----------
    sent : ndarray of shape (H, W)
    homography : ndarray of shape (3, 3)
        Frame pixel (x, y, 1) to picture pixel.
    shape : tuple of int
        Rows and columns of the frame.
    """
    height, width = shape
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    seen = map_points(homography, corners)
    low = np.clip(np.floor(seen.min(axis=0)), 0, None).astype(int)
    high = np.ceil(seen.max(axis=0)).astype(int)
    part = sent[low[1] : high[1], low[0] : high[0]].astype(float)
    if min(part.shape) < 4:
        return 1.0
    spectrum = np.abs(scipy.fft.rfft2(part * np.outer(*(np.hanning(n) for n in part.shape)))) ** 2
    v, u = scipy.fft.fftfreq(part.shape[0])[:, None], scipy.fft.rfftfreq(part.shape[1])[None, :]
    square = u * u + v * v
    slopes = spectrum * square
    mean_square = float((slopes * square).sum() / max(slopes.sum(), 1e-30))
    return max(1.0, EVEN_FREQUENCY / max(np.sqrt(mean_square), 1e-9))
