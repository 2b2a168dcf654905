"""Find the four coded corner marks of a patch in a photograph."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import Capture
from dotloupe.errors import NotFitError
from dotloupe.patch.geometry import Region
from dotloupe.patch.layout import patch_regions
from dotloupe.patch.marks import CORNERS, LAST_RUN, mark_dictionary
from dotloupe.registration.reduction import preview_8bit

SEARCH_SIDES_PX = (700, 1400, 2800)
USUAL_WINDOW_PX = 13
"""Neighbourhood of the threshold that shows the marks of most photographs by itself."""
WORST_FIT = 0.08
"""Largest misfit of a mark's corners to one plane, in sides of a mark: false marks miss by more."""


@dataclass(frozen=True)
class FoundMarks:
    """Four marks of one run.

    Attributes
    ----------
    run : int
        Run number that the marks carry.
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm, from the marks' corners alone.
    """

    run: int
    homography: FloatArray


def find_marks(capture: Capture) -> FoundMarks:
    """Find a consistent four of coded marks.

    Raises
    ------
    NotFitError
        No four marks of one run; the message says what was seen instead.
    """
    seen: dict[int, set[int]] = {}
    image, scale = preview_8bit(capture, SEARCH_SIDES_PX[0])
    found = _consistent_four(_detect(image, USUAL_WINDOW_PX), scale)
    if found is not None:
        return found
    for side in SEARCH_SIDES_PX:
        image, scale = preview_8bit(capture, side)
        candidates = _detect(image)
        found = _consistent_four(candidates, scale)
        if found is not None:
            return found
        for run, corners in _corners_by_run(candidates).items():
            seen.setdefault(run, set()).update(corners)
    image, scale = preview_8bit(capture, SEARCH_SIDES_PX[0])
    if _consistent_four(_detect(image[:, ::-1].copy()), scale) is not None:
        raise NotFitError("the picture is mirrored; flip it left to right")
    raise NotFitError(_what_is_missing(seen))


def _detect(image: NDArray[np.uint8], window_px: int | None = None) -> list[tuple[int, FloatArray]]:
    """Ids and corner points (4, 2), clockwise from the mark's own top left."""
    settings = cv2.aruco.DetectorParameters()
    if window_px is not None:
        settings.adaptiveThreshWinSizeMin = settings.adaptiveThreshWinSizeMax = window_px
    settings.perspectiveRemovePixelPerCell = 8
    settings.perspectiveRemoveIgnoredMarginPerCell = 0.3
    corners, ids, _ = cv2.aruco.ArucoDetector(mark_dictionary(), settings).detectMarkers(image)
    if ids is None:
        return []
    points = [np.asarray(c, dtype=float).reshape(4, 2) for c in corners]
    return list(zip((int(i) for i in np.ravel(ids)), points, strict=True))


def _corners_by_run(
    candidates: list[tuple[int, FloatArray]],
) -> dict[int, dict[int, list[FloatArray]]]:
    grouped: dict[int, dict[int, list[FloatArray]]] = {}
    for identity, points in candidates:
        if identity // 4 <= LAST_RUN:
            grouped.setdefault(identity // 4, {}).setdefault(identity % 4, []).append(points)
    return grouped


def _consistent_four(candidates: list[tuple[int, FloatArray]], scale: float) -> FoundMarks | None:
    """Take the run whose four marks lie on one plane as the patch has them."""
    for run, corners in _corners_by_run(candidates).items():
        if len(corners) < len(CORNERS):
            continue
        for four in product(*(corners[i] for i in range(len(CORNERS)))):
            points = (np.concatenate(four) + 0.5) / scale - 0.5
            homography, misfit = _plane(points)
            if misfit < WORST_FIT:
                return FoundMarks(run, homography)
    return None


def _plane(points: FloatArray) -> tuple[FloatArray, float]:
    """Homography of the 16 corners and its worst misfit in sides of a mark."""
    marks = mark_regions()
    target = np.concatenate([np.array(region.corners_mm) for region in marks])
    homography, _ = cv2.findHomography(points, target, 0)
    if homography is None:
        return np.eye(3), np.inf
    mapped = cv2.perspectiveTransform(points[None], homography)[0]
    misfit = np.linalg.norm(mapped - target, axis=1).max() / marks[0].width_mm
    return np.asarray(homography, dtype=float), float(misfit)


def mark_regions() -> tuple[Region, ...]:
    """The four marks' rectangles, which all kinds of patch share."""
    return tuple(r for r in patch_regions("detail").values() if r.kind == "mark")


def _what_is_missing(seen: dict[int, set[int]]) -> str:
    run, corners = max(seen.items(), key=lambda item: len(item[1]), default=(0, set()))
    if len(corners) == len(CORNERS):
        return f"the four marks of run {run} do not lie on one plane; press the sheet flat"
    if len(corners) < 2:
        return (
            "no patch found: none of the coded corner marks; photograph the whole patch, in focus"
        )
    missing = [CORNERS[i] for i in range(len(CORNERS)) if i not in corners]
    marks = "mark" if len(missing) == 1 else "marks"
    return (
        f"{' and '.join(missing)} {marks} of run {run} not seen: the patch is cut by the frame, "
        "covered or glaring; photograph it whole"
    )
