"""Find the coded corner marks of every patch in a photograph: all four, or those of a part."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture
from dotloupe.errors import NotFitError
from dotloupe.patch import (
    CORNERS,
    LAST_RUN,
    Patch,
    PatchKind,
    Region,
    mark_dictionary,
    patch_regions,
)
from dotloupe.registration.homography import corners_in_capture
from dotloupe.registration.part_placing import place_part
from dotloupe.registration.reduced_images import preview_8bit
from dotloupe.registration.sight import part_in_sight

ALL_CORNERS = (0, 1, 2, 3)
SEARCH_SIDES_PX = (700, 1400, 2800)
USUAL_WINDOW_PX = 13
"""Neighbourhood of the threshold that shows the marks of most photographs by itself."""
USUAL_PERIMETER = 0.1
"""Of a mark, in longest sides of the frame, at least, where the patch is a third as wide."""
WORST_FIT = 0.08
"""Largest misfit of a mark's corners to one plane, in sides of a mark: false marks miss by more."""

ALL_SEEN = 0.2
"""Share of the frame in patches from which others, of the same scale, would have been seen too."""
MOST_ALIKE = 4
"""Marks of one number that are tried, the largest: a frame may be strewn with copies of a mark."""
LEAST_OF_LARGEST = 0.25
"""Of the largest part in sight: of a neighbour less looks into the frame."""
MOST_PARTS = 4
"""Runs of which a part is looked for, those with the largest marks."""


@dataclass(frozen=True)
class FoundMarks:
    """Marks of one patch.

    Attributes
    ----------
    run : int
        Run number that the marks carry.
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm: from the corners of four marks alone, of fewer with
        what is drawn around them.
    corners : tuple of int
        Marks in sight, clockwise from 0, the top left one.
    kind : PatchKind
        By what is drawn around fewer than four marks; of four the code says it.
    """

    run: int
    homography: FloatArray
    corners: tuple[int, ...] = ALL_CORNERS
    kind: PatchKind = "detail"

    @property
    def whole(self) -> bool:
        """Whether all four are in sight."""
        return self.corners == ALL_CORNERS


def find_marks(capture: Capture) -> FoundMarks:
    """Find the marks of the one patch in a photograph.

    Raises
    ------
    NotFitError
        No patch and no part of one, or several patches; the message says what was seen.
    """
    found = find_all_marks(capture)
    if len(found) > 1:
        runs = " and ".join(str(marks.run) for marks in found)
        raise NotFitError(f"patches of runs {runs} in one frame; photograph each alone")
    return found[0]


def find_all_marks(capture: Capture) -> tuple[FoundMarks, ...]:
    """Find consistent fours of coded marks: those of every patch, in order of runs and rows.

    Where patches fill little of the frame, smaller ones are looked for too. Where none is seen
    whole, parts are placed by fewer marks and what is drawn around them.

    Raises
    ------
    NotFitError
        No patch and no part of one; the message says what was seen.
    """
    found, seen = _marks_and_seen(capture)
    if any(marks.whole for marks in found):
        return found
    if _is_mirrored(capture, seen):
        raise NotFitError(
            "the print is mirrored, or its photograph; print it without the driver's mirroring, "
            "or flip the file left to right"
        )
    if found:
        return found
    raise NotFitError(_what_is_missing(seen))


def is_mirrored(capture: Capture) -> bool:
    """Whether a photograph without a whole patch shows more of one from its other side."""
    return _is_mirrored(capture, _marks_and_seen(capture)[1])


def _is_mirrored(capture: Capture, seen: dict[int, dict[int, FloatArray]]) -> bool:
    """As `is_mirrored`, of marks seen as they are; some look like their mirror image."""
    mirrored = replace(capture, pixels=capture.pixels[:, ::-1])
    found, turned = _fours_and_marks(mirrored, SEARCH_SIDES_PX[:1])
    of_a_run, of_a_turned = (max(map(len, one.values()), default=0) for one in (seen, turned))
    return bool(found) or (of_a_turned > of_a_run and bool(_parts(mirrored, turned)))


def marks_in_sight(capture: Capture) -> tuple[FoundMarks, ...]:
    """Marks as `find_all_marks` finds them; none where no patch and no part of one is seen."""
    return _marks_and_seen(capture)[0]


def _marks_and_seen(
    capture: Capture,
) -> tuple[tuple[FoundMarks, ...], dict[int, dict[int, FloatArray]]]:
    """Marks in order, and of every run seen the largest mark by corner."""
    found, seen = _fours_and_marks(capture, SEARCH_SIDES_PX)
    found = found or _parts(capture, seen)
    ordered = sorted(found, key=lambda marks: (marks.run, *_middle(marks)[::-1]))
    return tuple(ordered), seen


def _fours_and_marks(
    capture: Capture, sides_px: tuple[int, ...]
) -> tuple[tuple[FoundMarks, ...], dict[int, dict[int, FloatArray]]]:
    """Consistent fours; and of every run seen, by corner, the largest mark in capture pixels."""
    seen: dict[int, dict[int, FloatArray]] = {}
    image, scale = preview_8bit(capture, SEARCH_SIDES_PX[0])
    found = _consistent_fours(_detect(image, usual=True), scale)
    for side in sides_px:
        if _filled(capture, found) >= ALL_SEEN:
            break
        if side != SEARCH_SIDES_PX[0]:
            image, scale = preview_8bit(capture, side)
        candidates = _detect(image)
        found = _with_new(found, _consistent_fours(candidates, scale))
        for run, corners in _corners_by_run(candidates).items():
            largest = {
                c: _in_capture(max(points, key=_area), scale) for c, points in corners.items()
            }
            seen.setdefault(run, {}).update(largest)
    return found, seen


def _parts(capture: Capture, seen: dict[int, dict[int, FloatArray]]) -> tuple[FoundMarks, ...]:
    """Parts of patches of which one to three marks are seen; rims of neighbours are left out."""
    candidates = sorted(
        ((run, marks) for run, marks in seen.items() if len(marks) < len(CORNERS)),
        key=lambda item: -sum(map(_area, item[1].values())),
    )
    found = []
    for run, marks in candidates[:MOST_PARTS]:
        part = place_part(capture, run, marks, mark_regions())
        if part is not None:
            found.append(FoundMarks(run, part.homography, part.corners, part.kind))
    areas = [_area_in_sight(capture, marks) for marks in found]
    most = max(areas, default=0.0)
    return tuple(m for m, area in zip(found, areas, strict=True) if area >= LEAST_OF_LARGEST * most)


def _area_in_sight(capture: Capture, marks: FoundMarks) -> float:
    """How much of a patch is in the frame, in mm^2."""
    left, top, right, bottom = part_in_sight(capture, Patch(600, marks.run), marks.homography)
    return (right - left) * (bottom - top)


def _in_capture(points: FloatArray, scale: float) -> FloatArray:
    """Pixels of a preview as pixels of the capture."""
    return (points + 0.5) / scale - 0.5


def _middle(marks: FoundMarks) -> FloatArray:
    """Middle of the marks in capture pixels."""
    return _outline(marks).mean(axis=0)


def _outline(marks: FoundMarks) -> FloatArray:
    """Corners of the marks' rectangle in capture pixels, shape (4, 2)."""
    points = np.concatenate([np.array(region.corners_mm) for region in mark_regions()])
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    return corners_in_capture(marks.homography, (left, top, right, bottom))


def _filled(capture: Capture, found: tuple[FoundMarks, ...]) -> float:
    """Share of the frame within patches."""
    return sum(_area(_outline(marks)) for marks in found) / float(np.prod(capture.shape))


def _with_new(
    found: tuple[FoundMarks, ...], others: tuple[FoundMarks, ...]
) -> tuple[FoundMarks, ...]:
    """Those found, and of the others those that lie elsewhere."""
    new = [
        other
        for other in others
        if not any(
            cv2.pointPolygonTest(_outline(m).astype(np.float32), _middle(other).tolist(), False) > 0
            for m in found
        )
    ]
    return (*found, *new)


def _detect(image: NDArray[np.uint8], *, usual: bool = False) -> list[tuple[int, FloatArray]]:
    """Ids and corner points (4, 2), clockwise from the mark's own top left.

    With `usual` only marks as most photographs show them, in a third of the time.
    """
    settings = cv2.aruco.DetectorParameters()
    if usual:
        settings.adaptiveThreshWinSizeMin = settings.adaptiveThreshWinSizeMax = USUAL_WINDOW_PX
        settings.minMarkerPerimeterRate = USUAL_PERIMETER
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


def _consistent_fours(
    candidates: list[tuple[int, FloatArray]], scale: float
) -> tuple[FoundMarks, ...]:
    """Fours of one run whose marks lie on one plane as the patch has them; no mark serves twice."""
    found = []
    for run, corners in sorted(_corners_by_run(candidates).items()):
        while len(corners) == len(CORNERS) and all(corners.values()):
            four = _four_on_one_plane(corners, scale)
            if four is None:
                break
            marks, homography = four
            found.append(FoundMarks(run, homography))
            corners = {
                corner: [m for m in corners[corner] if m is not used]
                for corner, used in enumerate(marks)
            }
    return tuple(found)


def _four_on_one_plane(
    corners: dict[int, list[FloatArray]], scale: float
) -> tuple[tuple[FloatArray, ...], FloatArray] | None:
    """Four marks that lie on one plane, the largest first, and the plane's homography."""
    likely = (sorted(corners[i], key=_area, reverse=True)[:MOST_ALIKE] for i in range(len(CORNERS)))
    for four in product(*likely):
        homography, misfit = _plane(_in_capture(np.concatenate(four), scale))
        if misfit < WORST_FIT:
            return four, homography
    return None


def _area(points: FloatArray) -> float:
    """Area within a mark's corners (shoelace formula)."""
    x, y = points.T
    return float(abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))) / 2


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


def _what_is_missing(seen: dict[int, dict[int, FloatArray]]) -> str:
    run, corners = max(seen.items(), key=lambda item: len(item[1]), default=(0, {}))
    if len(corners) == len(CORNERS):
        return f"the four marks of run {run} do not lie on one plane; press the sheet flat"
    if len(corners) < 2:
        return (
            "no patch found: none of the coded corner marks; photograph the whole patch, or a "
            "part with one of them, in focus"
        )
    missing = [CORNERS[i] for i in range(len(CORNERS)) if i not in corners]
    marks = "mark" if len(missing) == 1 else "marks"
    return (
        f"{' and '.join(missing)} {marks} of run {run} not seen, and what is seen does not place "
        "it: covered, glaring or out of focus; photograph it again"
    )
