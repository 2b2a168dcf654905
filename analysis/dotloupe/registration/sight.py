"""What of a patch a capture shows: the whole, or a part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture
from dotloupe.patch import Axis, Patch, Region
from dotloupe.registration.homography import corners_in_capture, map_points

Box = tuple[float, float, float, float]
"""Left, top, right and bottom in mm of the patch."""


@dataclass(frozen=True)
class ShownPatch:
    """A patch, and which of its regions are in sight: of one capture or of several together.

    Attributes
    ----------
    patch : Patch
    sent_ppi : float or None
        Read from its code, in pixels per inch of the print; None where that is not in sight or
        unread.
    in_sight : tuple of Region
    """

    patch: Patch
    sent_ppi: float | None
    in_sight: tuple[Region, ...]

    @property
    def whole(self) -> bool:
        """Whether every region is in sight."""
        return len(self.in_sight) == len(self.patch.regions)

    def regions(self, kind: str, axis: Axis | None = None) -> Iterator[Region]:
        """Regions in sight of one kind, and of one direction where one is given."""
        return _chosen(self.in_sight, kind, axis)

    def shows_all(self, kind: str, axis: Axis | None = None) -> bool:
        """Whether every region of a kind, and of a direction where one is given, is in sight."""
        return set(_chosen(self.patch.regions.values(), kind, axis)) <= set(self.in_sight)


def _chosen(regions: Iterable[Region], kind: str, axis: Axis | None) -> Iterator[Region]:
    for region in regions:
        if region.kind == kind and axis in (None, region.direction):
            yield region


def whole_mm(patch: Patch) -> Box:
    """The whole patch."""
    width, height = patch.size_mm
    return 0.0, 0.0, width, height


def part_in_sight(capture: Capture, patch: Patch, homography: FloatArray) -> Box:
    """Smallest upright rectangle on the patch that holds all of it that a capture shows.

    Parameters
    ----------
    capture : Capture
    patch : Patch
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    """
    rows, columns = capture.shape
    frame = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float32) - 0.5
    outline = corners_in_capture(homography, whole_mm(patch)).astype(np.float32)
    _, seen = cv2.intersectConvexConvex(outline, frame)
    if seen is None or not len(seen):
        return 0.0, 0.0, 0.0, 0.0
    points = map_points(homography, np.asarray(seen, dtype=float).reshape(-1, 2))
    (left, top), (right, bottom) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return left, top, right, bottom


def box_in_frame(capture: Capture, box_mm: Box, homography: FloatArray) -> tuple[slice, slice]:
    """Rows and columns of a capture that hold a rectangle of its patch.

    Parameters
    ----------
    capture : Capture
    box_mm : (float, float, float, float)
        Left, top, right and bottom on the patch.
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    """
    seen = corners_in_capture(homography, box_mm)
    size = np.array(capture.shape[::-1])
    left, top = np.clip(np.floor(seen.min(axis=0)).astype(int), 0, size).tolist()
    right, bottom = np.clip(np.ceil(seen.max(axis=0)).astype(int), 0, size).tolist()
    return slice(top, bottom), slice(left, right)


def middle_of(box_mm: Box) -> FloatArray:
    """Middle (x, y) of a rectangle."""
    left, top, right, bottom = box_mm
    return np.array([left + right, top + bottom]) / 2


def is_in_frame(
    capture: Capture, region: Region, homography: FloatArray, margin_mm: float = 0.0
) -> bool:
    """Whether a capture shows all of a region and so much around it.

    Parameters
    ----------
    capture : Capture
    region : Region
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    margin_mm : float
        On all sides.
    """
    (left, top), _, (right, bottom), _ = region.corners_mm
    box = (left - margin_mm, top - margin_mm, right + margin_mm, bottom + margin_mm)
    corners = corners_in_capture(homography, box)
    last = np.array(capture.shape[::-1]) - 1
    return bool(np.all((corners >= 0) & (corners <= last)))
