"""Find where a macro photograph of a small part of a print lies in the picture that was sent."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import DotloupeError, InputError, NotFitError
from dotloupe.registration.homography import jacobian, map_points
from dotloupe.registration.picture.features import find_features, propose_by_features
from dotloupe.registration.picture.repeats import find_repeats
from dotloupe.registration.picture.templates import propose_by_templates
from dotloupe.registration.picture.verification import (
    LEAST_AGREEMENT,
    LEAST_SIGNIFICANCE,
    MOST_UNEXPLAINED,
    REPEATED,
    Likeness,
    judge_likeness,
    share_agreeing,
)
from dotloupe.registration.refinement import Refinement, refine_homography
from dotloupe.registration.working_resolution import block_mean, block_to_full, sampling_ratio

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.arrays import FloatArray
    from dotloupe.registration.picture.features import Candidate

SCALES = (0.1, 33.0)
"""Observed pixels per picture pixel that are looked for; the promise is 0.5 to 30."""
TEMPLATE_SCALES = (0.45, 33.0)
TRIAL_PIXELS = 6e4
"""Candidates are first tried on the frame reduced to this many pixels."""
PROMISING_SIGNIFICANCE = 4.5
WANDER = 3.0
"""A refinement may move by this many times the error that its candidate admits."""
RIVAL_DEVIATIONS = 5.0
"""Two places are told apart where their likelihoods differ by so many standard deviations."""
MOST_UNCERTAIN_PX = 0.2
"""Standard error of a place worth naming, in pixels of the picture or of the photograph,
whichever are the coarser: twice the error that is promised."""
LEAST_SHARE = 0.002
"""Share of the picture that a frame must show; the promise is 0.003."""
SMALLEST_PX = 32
STRETCH = 3.0
"""Most that a homography may scale one direction more than another, or one corner than another."""


@dataclass(frozen=True)
class PictureMatch:
    """Where a frame lies in a picture, or why that was not found. False where it was not.

    Attributes
    ----------
    found : bool
    reason : str
        Why the frame was not found; empty where it was.
    scale : float
        Observed pixels per picture pixel in the middle of the frame.
    rotation_deg : float
        Direction of the frame's x axis in the picture, from the picture's x towards its y.
    residual_px, uncertainty_px : float
        Rms of the shifts left in single windows, and standard error of the homography, both in
        picture pixels.
    overlap : float
        Share of the frame that shows the picture.
    """

    found: bool
    reason: str = ""
    scale: float = np.nan
    rotation_deg: float = np.nan
    residual_px: float = np.nan
    uncertainty_px: float = np.nan
    overlap: float = 0.0
    matrix: FloatArray | None = field(default=None, repr=False)

    def __bool__(self) -> bool:
        return self.found

    @property
    def homography(self) -> FloatArray:
        """(3, 3) homography, observed pixel (x, y, 1) to picture pixel.

        Raises
        ------
        NotFitError
            Where the frame was not found.
        """
        if self.matrix is None:
            raise NotFitError(self.reason)
        return self.matrix


@dataclass(frozen=True)
class _Trial:
    refinement: Refinement
    likeness: Likeness
    agreement: float
    uncertainty_px: float
    scale: float

    @property
    def holds(self) -> bool:
        """Whether the frame follows the picture there, in most of what it shows."""
        return (
            self.likeness.significance >= LEAST_SIGNIFICANCE
            and self.likeness.unexplained <= MOST_UNEXPLAINED
            and self.agreement >= LEAST_AGREEMENT
            and self.uncertainty_px * min(self.scale, 1.0) <= MOST_UNCERTAIN_PX
        )

    @property
    def rank(self) -> tuple[bool, float]:
        """Order among trials."""
        return self.holds, self.likeness.significance


def locate_picture(frame: FloatArray, sent: FloatArray) -> PictureMatch:
    """Find the place, turn and scale at which a photograph shows a part of a picture.

    Features are matched first, at two resolutions; where they do not settle it the frame is
    correlated with the whole picture at every turn and scale. The best proposals are refined to
    hundredths of a pixel, and one is called found only if the content of the frame follows the
    picture beyond chance and no other place of the picture fits as well. Mirrored frames are not
    looked for.

    Parameters
    ----------
    frame : (h, w) array
        Linear reflectance, the mean of the channels, 0.5 to 30 pixels per picture pixel, showing
        0.3 % of the picture or more; border and background may be in the frame.
    sent : (H, W) array
        Linear light of the picture that was sent, the mean of its channels.

    Raises
    ------
    InputError
        Arrays that are too small or hold values that are not finite.
    """
    frame, sent = _checked(frame, "photograph"), _checked(sent, "picture")
    if float(frame.std()) < 1e-4 or float(sent.std()) < 1e-4:
        which = "photograph" if float(frame.std()) < 1e-4 else "picture"
        return PictureMatch(False, f"The {which} is flat; there is nothing to hold on to.")
    largest = np.sqrt(frame.size / (LEAST_SHARE * sent.size))
    scales = (SCALES[0], min(SCALES[1], float(largest)))
    best: _Trial | None = None
    for candidate in _proposals(frame, sent, scales):
        trial = _try(frame, sent, candidate, scales)
        if trial is None:
            continue
        if best is None or trial.rank > best.rank:
            best = trial
        if best.holds and best.likeness.significance >= 1.5 * LEAST_SIGNIFICANCE:
            break
    if best is None or not best.holds:
        return _not_found(best)
    if best.likeness.rival > REPEATED or _repeated(frame, sent, best, scales):
        return PictureMatch(
            False,
            "The picture repeats what the photograph shows; photograph a part that it holds once.",
        )
    return _match(frame, best)


def _proposals(
    frame: FloatArray, sent: FloatArray, scales: tuple[float, float]
) -> Iterator[Candidate]:
    """Candidates, the cheap ones first."""
    for picture_pixels, frame_pixels in ((0.8e6, 0.5e6), (3.2e6, 1.5e6)):
        features = find_features(frame, most_pixels=frame_pixels, per_octave=1200)
        in_picture = find_features(sent, most_pixels=picture_pixels, per_octave=30000)
        yield from propose_by_features(features, in_picture, scales)[:3]
        if max(frame.size / frame_pixels, sent.size / picture_pixels) <= 1:
            break
    macro = (max(scales[0], TEMPLATE_SCALES[0]), scales[1])
    yield from propose_by_templates(frame, sent, macro)[:8]


def _try(
    frame: FloatArray, sent: FloatArray, candidate: Candidate, scales: tuple[float, float]
) -> _Trial | None:
    """Refine and judge a candidate, first on a small frame; None where it leads nowhere."""
    step = max(1, int(np.ceil(np.sqrt(frame.size / TRIAL_PIXELS))))
    small = block_mean(frame, step)
    to_frame = block_to_full(step)
    start = candidate.homography @ to_frame
    scale = sampling_ratio(start, _middle(small))
    coarse = _refined(small, sent, start, candidate.error_px * scale, scales, step)
    if coarse is None:
        return None
    likeness = judge_likeness(small, sent, coarse.homography)
    if likeness.significance < PROMISING_SIGNIFICANCE:
        return _trial(small, coarse, likeness)
    start = coarse.homography @ np.linalg.inv(to_frame)
    fine = _refined(frame, sent, start, 1.0 * step, scales, 1)
    if fine is None:
        return None
    return _trial(frame, fine, judge_likeness(frame, sent, fine.homography))


def _trial(frame: FloatArray, refinement: Refinement, likeness: Likeness) -> _Trial:
    scale = sampling_ratio(refinement.homography, _middle(frame))
    agreement = share_agreeing(refinement.shifts)
    return _Trial(refinement, likeness, agreement, refinement.uncertainty_px / scale, scale)


def _repeated(
    frame: FloatArray, sent: FloatArray, found: _Trial, scales: tuple[float, float]
) -> bool:
    """Whether the frame fits another place of the picture as well, within what noise allows."""
    homography = found.refinement.homography
    here = found.likeness.significance**2
    for repeat in find_repeats(sent, homography, frame.shape):
        trial = _try(frame, sent, repeat, scales)
        if trial is None or _same_place(homography, trial.refinement.homography, frame):
            continue
        if here - trial.likeness.significance**2 < RIVAL_DEVIATIONS**2:
            return True
    return False


def _same_place(one: FloatArray, other: FloatArray, frame: FloatArray) -> bool:
    points = _middle(frame) * np.array([[0.5, 0.5], [1.5, 1.5], [0.5, 1.5]])
    apart = map_points(one, points) - map_points(other, points)
    return bool(np.max(np.abs(apart)) < 2.0)


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
    if not _plausible(start, frame.shape, limits):
        return None
    try:
        refinement = refine_homography(frame, sent, start, start_error_px=error_px)
    except DotloupeError:
        return None
    if not _plausible(refinement.homography, frame.shape, limits):
        return None
    points = refinement.shifts.centres[refinement.used]
    moved = map_points(refinement.homography, points) - map_points(start, points)
    allowed = WANDER * max(error_px, 1.0) / sampling_ratio(start, _middle(frame))
    return refinement if np.sqrt(np.mean(np.sum(moved**2, axis=1))) < allowed else None


def _plausible(homography: FloatArray, shape: tuple[int, ...], scales: tuple[float, float]) -> bool:
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


def _middle(frame: FloatArray) -> FloatArray:
    return (np.array(frame.shape[::-1]) - 1) / 2


def _not_found(best: _Trial | None) -> PictureMatch:
    if best is None:
        return PictureMatch(
            False,
            "Nothing in the picture resembles the photograph; check that it is the picture sent "
            "and photograph a part with more detail.",
        )
    if best.likeness.significance >= LEAST_SIGNIFICANCE:
        return PictureMatch(
            False,
            "The best place found resembles the photograph in a few outlines alone; "
            "check that it is the picture sent, or photograph a part with more detail.",
        )
    return PictureMatch(
        False,
        f"The best place found is no more alike than chance allows "
        f"({best.likeness.significance:.1f} of {LEAST_SIGNIFICANCE:g} standard deviations); check "
        "that it is the picture sent, or photograph a part with more detail.",
    )


def _match(frame: FloatArray, trial: _Trial) -> PictureMatch:
    homography = trial.refinement.homography
    scale = sampling_ratio(homography, _middle(frame))
    turn = jacobian(homography, _middle(frame))
    return PictureMatch(
        found=True,
        scale=scale,
        rotation_deg=float(
            np.rad2deg(np.arctan2(turn[1, 0] - turn[0, 1], turn[0, 0] + turn[1, 1]))
        ),
        residual_px=trial.refinement.residual_reference_px,
        uncertainty_px=trial.uncertainty_px,
        overlap=trial.likeness.overlap,
        matrix=homography,
    )


def _checked(image: FloatArray, name: str) -> FloatArray:
    array = np.ascontiguousarray(image, dtype=np.float32)
    if array.ndim != 2 or min(array.shape) < SMALLEST_PX:
        raise InputError(
            f"the {name} must be of at least {SMALLEST_PX} x {SMALLEST_PX} pixels in one channel, "
            f"not {array.shape}"
        )
    if not np.isfinite(array.sum(dtype=float)):
        raise InputError(f"the {name} holds values that are not finite; crop or fill them")
    return array
