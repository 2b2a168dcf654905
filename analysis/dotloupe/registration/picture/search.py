"""Find where a macro photograph of a small part of a print lies in the picture that was sent."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError, NotFitError
from dotloupe.registration.homography import jacobian, map_points
from dotloupe.registration.picture.features import Candidate, find_features, propose_by_features
from dotloupe.registration.picture.repeats import find_repeats
from dotloupe.registration.picture.sought import SoughtPicture, checked
from dotloupe.registration.picture.templates import propose_by_templates
from dotloupe.registration.picture.trial import Trial, middle, plausible, try_candidate
from dotloupe.registration.picture.verification import (
    LEAST_SIGNIFICANCE,
    REPEATED,
    significance_near,
)
from dotloupe.registration.working_resolution import block_mean, block_to_full, sampling_ratio

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.arrays import FloatArray

SCALES = (0.1, 33.0)
"""Observed pixels per picture pixel that are looked for; the promise is 0.5 to 30."""
TEMPLATE_SCALES = (0.45, 33.0)
TRIAL_PIXELS = 3e4
"""Candidates are first tried on the frame reduced to this many pixels."""
NEAR_SIGNIFICANCE = 5.0
"""Of the best displacement within a candidate's error, which chance alone makes 4 to 8."""
REPEAT_SHARE = 0.6
"""Of the significance at the place found, from which another place is refined as its rival."""
MOST_TRIALS = 2
"""Of one search that are refined."""
FEATURE_PIXELS = ((0.2e6, 0.12e6), (0.8e6, 0.25e6))
"""Of the picture and of the frame, in which features are matched in turn. What shows a small part
of a picture holds but few of its pixels, however many the camera gave it."""
RIVAL_DEVIATIONS = 5.0
"""Two places are told apart where their likelihoods differ by so many standard deviations."""
LEAST_SHARE = 0.002
"""Share of the picture that a frame must show; the promise is 0.003."""


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


def locate_picture(frame: FloatArray, picture: FloatArray | SoughtPicture) -> PictureMatch:
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
    picture : (H, W) array or SoughtPicture
        Linear light of the picture that was sent, the mean of its channels; a `SoughtPicture`
        serves many photographs.

    Raises
    ------
    InputError
        Arrays that are too small or hold values that are not finite.
    """
    frame, flat = checked(frame, "photograph")
    sought = picture if isinstance(picture, SoughtPicture) else SoughtPicture(picture)
    sent = sought.light
    if flat or sought.flat:
        which = "photograph" if flat else "picture"
        return PictureMatch(False, f"The {which} is flat; there is nothing to hold on to.")
    largest = np.sqrt(frame.size / (LEAST_SHARE * sent.size))
    scales = (SCALES[0], min(SCALES[1], float(largest)))
    best: Trial | None = None
    small_step = max(1, int(np.ceil(np.sqrt(frame.size / TRIAL_PIXELS))))
    small = block_mean(frame, small_step)
    for proposed in _proposals(frame, sought, scales):
        for candidate in _promising(small, small_step, sent, proposed, scales):
            trial = try_candidate(frame, small, sent, candidate, scales)
            if trial is not None and (best is None or trial.rank > best.rank):
                best = trial
            if best is not None and best.settled:
                break
        if best is not None and best.settled:
            break
    if best is None or not best.holds:
        return _not_found(best)
    if best.likeness.rival > REPEATED or _repeated(frame, small, sent, best, scales):
        return PictureMatch(
            False,
            "The picture repeats what the photograph shows; photograph a part that it holds once.",
        )
    return _match(frame, best)


def _proposals(
    frame: FloatArray, sought: SoughtPicture, scales: tuple[float, float]
) -> Iterator[list[Candidate]]:
    """Candidates of one search after another, the cheap ones first."""
    for picture_pixels, frame_pixels in FEATURE_PIXELS:
        features = find_features(frame, most_pixels=frame_pixels, per_octave=1200)
        in_picture = sought.features(picture_pixels)
        yield propose_by_features(features, in_picture, scales)[:3]
        if max(frame.size / frame_pixels, sought.light.size / picture_pixels) <= 1:
            break
    macro = (max(scales[0], TEMPLATE_SCALES[0]), scales[1])
    yield propose_by_templates(frame, sought.light.shape, sought.level, macro)[:8]


def _promising(
    small: FloatArray,
    step: int,
    sent: FloatArray,
    candidates: list[Candidate],
    scales: tuple[float, float],
) -> list[Candidate]:
    """The candidates that resemble the frame most, within the error that each admits."""
    limits = (scales[0] / step, scales[1] / step)
    alike = [(_near_significance(small, step, sent, c, limits), c) for c in candidates]
    alike.sort(key=lambda pair: -pair[0])
    return [c for near, c in alike if near >= NEAR_SIGNIFICANCE][:MOST_TRIALS]


def _near_significance(
    small: FloatArray,
    step: int,
    sent: FloatArray,
    candidate: Candidate,
    limits: tuple[float, float],
) -> float:
    """Significance of the best displacement within a candidate's error; 0 where none can be."""
    start = candidate.homography @ block_to_full(step)
    if not plausible(start, small.shape, limits):
        return 0.0
    reach_px = candidate.error_px * sampling_ratio(start, middle(small))
    try:
        return max(significance_near(small, sent, start, n, reach_px) for n in (1, 2))
    except InputError:
        return 0.0


def _repeated(
    frame: FloatArray,
    small: FloatArray,
    sent: FloatArray,
    found: Trial,
    scales: tuple[float, float],
) -> bool:
    """Whether the frame fits another place of the picture as well, within what noise allows."""
    homography = found.refinement.homography
    here = found.likeness.significance**2
    step = frame.shape[0] // small.shape[0]
    limits = (scales[0] / step, scales[1] / step)
    near = _near_significance(small, step, sent, Candidate(homography, 0.0, 2.0), limits)
    for repeat in find_repeats(sent, homography, frame.shape):
        if _near_significance(small, step, sent, repeat, limits) < REPEAT_SHARE * near:
            continue
        trial = try_candidate(frame, small, sent, repeat, scales)
        if trial is None or _same_place(homography, trial.refinement.homography, frame):
            continue
        if here - trial.likeness.significance**2 < RIVAL_DEVIATIONS**2:
            return True
    return False


def _same_place(one: FloatArray, other: FloatArray, frame: FloatArray) -> bool:
    points = middle(frame) * np.array([[0.5, 0.5], [1.5, 1.5], [0.5, 1.5]])
    apart = map_points(one, points) - map_points(other, points)
    return bool(np.max(np.abs(apart)) < 2.0)


def _not_found(best: Trial | None) -> PictureMatch:
    if best is None:
        return PictureMatch(
            False,
            "Nothing in the picture resembles the photograph; check that it is the picture sent "
            "and photograph a part with more detail.",
        )
    if best.follows and best.clear:
        return PictureMatch(
            False,
            "It resembles one place, but holds too little to place it well; photograph a part "
            "with more detail, or more of it.",
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


def _match(frame: FloatArray, trial: Trial) -> PictureMatch:
    homography = trial.refinement.homography
    scale = sampling_ratio(homography, middle(frame))
    turn = jacobian(homography, middle(frame))
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
