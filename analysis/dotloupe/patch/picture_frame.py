"""Which pixels of a picture a frame of marks holds, and where they lie on it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import InputError
from dotloupe.patch.patch import Patch
from dotloupe.units import MM_PER_INCH


@dataclass(frozen=True)
class FramedPart:
    """A part of a picture in a frame of marks.

    Attributes
    ----------
    size : (int, int)
        Rows and columns of the whole picture at the resolution sent.
    cut : (slice, slice)
        Rows and columns of the part in the picture as sent.
    place : (slice, slice)
        Rows and columns of the part in the frame's drawing.
    rows, columns : slice
        The part in the picture's own pixels; a border of a fraction of a pixel is left out.
    from_mm : ndarray of shape (3, 3)
        Homography, mm on the frame to the picture's own pixels.
    """

    size: tuple[int, int]
    cut: tuple[slice, slice]
    place: tuple[slice, slice]
    rows: slice
    columns: slice
    from_mm: FloatArray


def size_at(shape: tuple[int, int], ppi: float, sent_ppi: float) -> tuple[int, int]:
    """Rows and columns of a picture brought from one resolution to another."""
    rows, columns = (max(round(n * sent_ppi / ppi), 1) for n in shape)
    return rows, columns


def framed_part(patch: Patch, shape: tuple[int, int], ppi: float) -> FramedPart:
    """Find which part of a picture a frame holds.

    Parameters
    ----------
    patch : Patch
        Of kind "picture".
    shape : (int, int)
        Rows and columns of the picture.
    ppi : float
        Its pixels per inch of the print.

    Raises
    ------
    InputError
        The picture is smaller than the frame, or the frame reaches beyond it.
    """
    region = patch.regions["picture"]
    size = size_at(shape, ppi, patch.sent_ppi)
    per_mm = patch.sent_ppi / MM_PER_INCH
    matrix = np.eye(3)
    cut, place, own = [], [], []
    spans = (
        (region.y_mm, region.height_mm, patch.corner_mm[1]),
        (region.x_mm, region.width_mm, patch.corner_mm[0]),
    )
    for axis, (start_mm, length_mm, corner_mm) in enumerate(spans):
        first = math.ceil(start_mm * per_mm)
        count = math.floor((start_mm + length_mm) * per_mm) - first
        corner = round(corner_mm * per_mm)
        if corner + count > size[axis]:
            raise _beyond(patch, size, (region.width_mm, region.height_mm))
        cut.append(slice(corner, corner + count))
        place.append(slice(first, first + count))
        scale = shape[axis] / size[axis]
        own.append(slice(math.ceil(corner * scale), math.floor((corner + count) * scale)))
        row = 1 - axis
        matrix[row, row] = per_mm * scale
        matrix[row, 2] = (corner - first) * scale - 0.5
    return FramedPart(size, (cut[0], cut[1]), (place[0], place[1]), own[0], own[1], matrix)


def _beyond(patch: Patch, size: tuple[int, int], frame_mm: tuple[float, float]) -> InputError:
    height, width = (n / patch.sent_ppi * MM_PER_INCH for n in size)
    part = f"{frame_mm[0]:g} x {frame_mm[1]:g} mm"
    if width < frame_mm[0] or height < frame_mm[1]:
        return InputError(
            f"the picture prints {width:.1f} x {height:.1f} mm, smaller than the frame's {part}; "
            "give a wider print, or a larger picture"
        )
    most = (int(width - frame_mm[0]), int(height - frame_mm[1]))
    return InputError(
        f"a frame of {part} at {patch.corner_mm[0]},{patch.corner_mm[1]} mm reaches beyond the "
        f"print of {width:.1f} x {height:.1f} mm; give --frame-mm up to {most[0]},{most[1]}"
    )
