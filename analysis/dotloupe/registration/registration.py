"""Where a capture lies on what was sent."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture, SentPicture, picture_of
from dotloupe.cautions import Caution
from dotloupe.errors import NotFitError
from dotloupe.patch import PATCH_VERSION, Patch, PatchCode, framed_part
from dotloupe.registration.code_reading import read_code
from dotloupe.registration.drawing_fit import drawing_of, fit_to_drawing
from dotloupe.registration.homography import pixels_per_mm
from dotloupe.registration.mark_search import FoundMarks, find_marks, marks_in_sight
from dotloupe.registration.reduced_images import mean_of_channels
from dotloupe.registration.sight import (
    Box,
    box_in_frame,
    is_in_frame,
    middle_of,
    part_in_sight,
    whole_mm,
)
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from dotloupe.registration.picture import SoughtPicture

LIKELY_PPI = 600
MEAN_OF_CHANNELS = np.full(3, 1 / 3)


@dataclass(frozen=True)
class CodeUnread(Caution):
    """The patch's code cannot be read: its resolution is not known."""


@dataclass(frozen=True)
class PlacedFrame:
    """Where a capture lies on a frame of marks round a part of a picture.

    Attributes
    ----------
    patch : Patch
        The frame.
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to mm of the frame.
    """

    patch: Patch
    homography: FloatArray


@dataclass(frozen=True)
class Registration:
    """Where a capture lies on its patch, or on the picture that was sent.

    Attributes
    ----------
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm, or to picture pixel where `patch` is None.
    pixels_per_mm : float
        Capture pixels per mm at the middle of the patch in sight, or of the frame; NaN for a
        picture of unknown size.
    residual_um : float
        Rms of the local shifts left between the capture and what was sent, noise of the single
        windows included; NaN for a picture of unknown size.
    residual_px : float
        The same in capture pixels.
    pixels_per_picture_px : float
        Capture pixels per picture pixel at the middle of the frame; NaN for a patch.
    sight_mm : (float, float, float, float) or None
        Left, top, right and bottom of the part of the patch that the capture shows, where not all
        four marks are in sight; None where they are.
    part : (slice, slice) or None
        Rows and columns of the picture that a frame of marks holds; None without one.
    frame : PlacedFrame or None
        The same of the frame of marks round it; None without one.
    patch : Patch or None
        The patch that the capture shows.
    run : int or None
        Run number that the marks carry.
    sent_ppi : int or None
        Read from the patch's code; None where it cannot be read.
    cautions : tuple of Caution
    """

    homography: FloatArray
    pixels_per_mm: float
    residual_um: float
    residual_px: float
    patch: Patch | None = None
    run: int | None = None
    sent_ppi: int | None = None
    cautions: tuple[Caution, ...] = ()
    pixels_per_picture_px: float = float("nan")
    part: tuple[slice, slice] | None = None
    frame: PlacedFrame | None = None
    sight_mm: Box | None = None

    @property
    def printed(self) -> PlacedFrame | None:
        """What was printed and where the capture lies on it in mm, patch or frame, where known."""
        return self.frame if self.patch is None else PlacedFrame(self.patch, self.homography)


def register(
    capture: Capture,
    patch: Patch | None = None,
    picture: str | Path | FloatArray | SentPicture | None = None,
    *,
    marks: FoundMarks | None = None,
) -> Registration:
    """Find where a capture lies on its patch, or on a picture.

    Parameters
    ----------
    capture : Capture
    patch : Patch, optional
        The patch printed, where its own code is not to be asked.
    picture : path, ndarray or SentPicture, optional
        The picture that was sent, to be found by its content; arrays are sRGB-coded.
    marks : FoundMarks, optional
        Of the patch that is meant, where the capture shows several.

    Returns
    -------
    Registration
        With ``homography``, which maps pixels of the capture to mm of the patch.

    Raises
    ------
    NotFitError
        The capture does not show what was asked for; the message says what is wrong.
    """
    if picture is not None:
        return register_on_picture(capture, picture_of(picture), marks_in_sight(capture))
    if marks is None:
        marks = find_marks(capture)
    code = read_code(capture, marks.homography, marks.run)
    if patch is None:
        patch = _patch_of(marks, code)
    elif patch.run != marks.run:
        raise NotFitError(f"this is run {marks.run}, not run {patch.run}; give its own patch")
    found = _on_drawing(capture, patch, marks)
    shown = marks.whole or is_in_frame(capture, patch.regions["code"], found.homography)
    return replace(
        found,
        patch=patch,
        sent_ppi=None if code is None else code.sent_ppi,
        cautions=(CodeUnread(),) if code is None and shown else (),
    )


def _patch_of(marks: FoundMarks, code: PatchCode | None) -> Patch:
    if code is None:
        return Patch(LIKELY_PPI, marks.run, kind=marks.kind)
    if code.version != PATCH_VERSION:
        raise NotFitError(
            f"a patch of version {code.version}, and this release measures version "
            f"{PATCH_VERSION}; draw and print the patch again, or measure it with the release "
            "that drew it"
        )
    if code.kind == "picture":
        raise NotFitError(
            "it shows a part of a picture in a frame of marks; give that picture by --picture and "
            "its print's width by --print-width-mm"
        )
    return Patch(code.sent_ppi, marks.run, kind=code.kind)


def _on_drawing(capture: Capture, patch: Patch, marks: FoundMarks) -> Registration:
    """Refine the marks' homography to patch mm on what was drawn.

    Windows of a whole patch even out what dot gain does to them. Those of a part, and those of a
    frame round a picture, are few and unlike each other: left out, it would move their places.
    """
    dot_gain = patch.kind == "picture" or not marks.whole
    box_mm = whole_mm(patch) if marks.whole else part_in_sight(capture, patch, marks.homography)
    fit = fit_to_drawing(capture, drawing_of(patch), marks.homography, box_mm, dot_gain=dot_gain)
    scale = pixels_per_mm(fit.homography, middle_of(box_mm))
    return Registration(
        homography=fit.homography,
        pixels_per_mm=scale,
        residual_um=1000 * fit.residual_px / scale,
        residual_px=fit.residual_px,
        run=patch.run,
        sight_mm=None if marks.whole else part_in_sight(capture, patch, fit.homography),
    )


def patch_in_frame(capture: Capture, patch: Patch, homography: FloatArray) -> tuple[slice, slice]:
    """Rows and columns of a capture that hold its patch, by a homography to patch mm.

    Parameters
    ----------
    capture : Capture
    patch : Patch
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    """
    return box_in_frame(capture, whole_mm(patch), homography)


def register_on_picture(
    capture: Capture, sent: SentPicture, marks: tuple[FoundMarks, ...]
) -> Registration:
    """Place a photograph in the picture that was sent, by its frame of marks or by its content.

    Parameters
    ----------
    capture : Capture
    sent : SentPicture
    marks : tuple of FoundMarks
        As `marks_in_sight` finds them.

    Raises
    ------
    NotFitError
        As `register`.
    """
    from dotloupe.registration.picture import locate_picture

    frame = frame_of(capture, marks[0]) if marks else None
    if frame is not None:
        if len(marks) > 1:
            raise NotFitError(f"{len(marks)} frames in one photograph; photograph each alone")
        return _in_frame(capture, sent, frame, marks[0])
    match = locate_picture(mean_of_channels(capture), _sought(sent))
    if not match:
        raise NotFitError(f"not found in the picture: {match.reason}")
    per_mm = float("nan") if sent.ppi is None else match.scale * sent.ppi / MM_PER_INCH
    residual_px = match.residual_px * match.scale
    return Registration(
        homography=match.homography,
        pixels_per_mm=per_mm,
        residual_um=1000 * residual_px / per_mm,
        residual_px=residual_px,
        pixels_per_picture_px=match.scale,
    )


@lru_cache(maxsize=1)
def _sought(picture: SentPicture) -> SoughtPicture:
    """The picture to look in, for the next photograph of it too."""
    from dotloupe.registration.picture import SoughtPicture

    return SoughtPicture(picture.light(MEAN_OF_CHANNELS))


def frame_of(capture: Capture, marks: FoundMarks) -> Patch | None:
    """Frame round a part of a picture that marks belong to; None where they are of another kind."""
    code = read_code(capture, marks.homography, marks.run)
    if code is None or code.corner_mm is None:
        return None
    return Patch(code.sent_ppi, marks.run, kind=code.kind, corner_mm=code.corner_mm)


def _in_frame(
    capture: Capture, picture: SentPicture, patch: Patch, marks: FoundMarks
) -> Registration:
    """Place by the code, refined on marks, code and lettering.

    Content is left out: through a print's tone scale its soft shades seem to lie elsewhere, by
    24 um on one simulated print whose marks came within 3. What single blocks of it are still
    off, the comparison takes out.
    """
    if picture.ppi is None:
        raise NotFitError(
            "the frame's place is known in mm, and the picture's printed size is not; give the "
            "width of its print by --print-width-mm"
        )
    framed = framed_part(patch, picture.shape, picture.ppi)
    found = _on_drawing(capture, patch, marks)
    matrix = framed.from_mm @ found.homography
    return replace(
        found,
        homography=matrix / matrix[2, 2],
        sent_ppi=patch.sent_ppi,
        pixels_per_picture_px=found.pixels_per_mm * MM_PER_INCH / picture.ppi,
        part=(framed.rows, framed.columns),
        frame=PlacedFrame(patch, found.homography),
    )
