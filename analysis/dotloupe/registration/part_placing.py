"""Place a part of a patch by the one, two or three marks in sight and by what is drawn there."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture
from dotloupe.errors import NotFitError
from dotloupe.patch import Patch, PatchKind, Region
from dotloupe.registration.drawing_fit import Drawing, DrawingFit, drawing_of, fit_to_drawing
from dotloupe.registration.sight import Box, is_in_frame, part_in_sight

REACHES_MM = (4.0, 10.0, 40.0)
"""Around the marks that place it: each step finds what the next may be off by at its far side."""
DRAWN_PPI = 600
"""Of the drawing that a part is placed on before its code, if in sight, can be read."""
KINDS: tuple[PatchKind, ...] = ("detail", "tints", "contrast")
LEAST_NEAR_MARK = 0.3
"""Agreement near the marks from which it is worth to look farther. Parts of simulated prints had
0.45 and more, places without a mark 0.16 at most."""
LARGEST_ERROR_UM = 10.0
LEAST_AGREEMENT = 0.42
"""With errors up to 10 um, parts of simulated prints agreed by 0.46 and more; what was placed by
the mark of another corner, or by none, by 0.35 at most."""
TO_START_FROM = 2
"""Working pixels averaged, each way, in all fits but the last: what they find is refined anyway."""
COVERED_MARGIN_MM = 0.3
"""Paper around a mark within the frame with which it would have been found."""


@dataclass(frozen=True)
class PlacedPart:
    """Where a part lies on its patch, and by which marks.

    Attributes
    ----------
    kind : PatchKind
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    corners : tuple of int
        Marks in sight, clockwise from 0, the top left one.
    """

    kind: PatchKind
    homography: FloatArray
    corners: tuple[int, ...]


def place_part(
    capture: Capture, run: int, seen: Mapping[int, FloatArray], marks: tuple[Region, ...]
) -> PlacedPart | None:
    """Place a part, or say that what is around its marks does not agree with any patch.

    Parameters
    ----------
    capture : Capture
    run : int
    seen : mapping of int to ndarray of shape (4, 2)
        Corners of each mark in sight, in capture pixels clockwise from its own top left.
    marks : tuple of Region
        All four on the patch.

    Returns
    -------
    PlacedPart or None
        None where it cannot be placed with confidence, or where a mark is not seen although its
        place is in the frame: it is covered or glares, as the elements beside it may.
    """
    points = np.concatenate(list(seen.values()))
    target = np.concatenate([np.array(marks[corner].corners_mm) for corner in seen])
    first = _similarity(points, target)
    around = (*target.min(axis=0), *target.max(axis=0))
    for near in _likeliest_first(capture, run, first, around):
        try:
            fit = _grown(capture, near, around)
        except NotFitError:
            continue
        if fit.uncertainty_um > LARGEST_ERROR_UM or fit.agreement < LEAST_AGREEMENT:
            continue
        covered = (
            is_in_frame(capture, mark, fit.homography, COVERED_MARGIN_MM)
            for corner, mark in enumerate(marks)
            if corner not in seen
        )
        return (
            None
            if any(covered)
            else PlacedPart(near.patch.kind, fit.homography, tuple(sorted(seen)))
        )
    return None


@dataclass(frozen=True)
class _Near:
    """A kind of patch, and how its drawing fits what is around the marks."""

    patch: Patch
    drawing: Drawing
    fit: DrawingFit


def _likeliest_first(capture: Capture, run: int, first: FloatArray, around: Box) -> list[_Near]:
    """Kinds of patch that what is around the marks may be of, the best agreement first."""
    likely = []
    for kind in KINDS:
        patch = Patch(DRAWN_PPI, run, kind=kind)
        drawing = drawing_of(patch)
        box = _within(part_in_sight(capture, patch, first), around, REACHES_MM[0])
        with suppress(NotFitError):
            likely.append(_Near(patch, drawing, _rough_fit(capture, drawing, first, box)))
    return sorted(likely, key=lambda near: -near.fit.agreement)


def _grown(capture: Capture, near: _Near, around: Box) -> DrawingFit:
    """Fit the drawing farther and farther from the marks, and at last on all that is in sight."""
    homography = near.fit.homography
    for reach in REACHES_MM[1:]:
        box = _within(part_in_sight(capture, near.patch, homography), around, reach)
        homography = _rough_fit(capture, near.drawing, homography, box).homography
    box = part_in_sight(capture, near.patch, homography)
    return fit_to_drawing(capture, near.drawing, homography, box, with_agreement=True)


def _rough_fit(capture: Capture, drawing: Drawing, start: FloatArray, box_mm: Box) -> DrawingFit:
    """Fit the drawing well enough to look farther from there."""
    fit = fit_to_drawing(capture, drawing, start, box_mm, with_agreement=True, finest=TO_START_FROM)
    if fit.agreement < LEAST_NEAR_MARK:
        raise NotFitError("what is around its marks is not what was drawn there")
    return fit


def _within(sight: Box, around: Box, reach_mm: float) -> Box:
    """What is in sight and within reach of the marks."""
    return (
        max(sight[0], around[0] - reach_mm),
        max(sight[1], around[1] - reach_mm),
        min(sight[2], around[2] + reach_mm),
        min(sight[3], around[3] + reach_mm),
    )


def _similarity(points: FloatArray, target: FloatArray) -> FloatArray:
    """Turn, scale and shift that best map points (x, y) to their targets, as a homography."""
    source, place = points @ (1, 1j), target @ (1, 1j)
    design = np.column_stack([source, np.ones(len(source))])
    turn, shift = np.linalg.lstsq(design, place, rcond=None)[0]
    return np.array(
        [[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag], [0, 0, 1.0]]
    )
