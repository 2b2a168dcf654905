"""A frame of marks round a part of a picture, as it is sent to the printer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import InputError
from dotloupe.patch import FramedPart, Patch, framed_part
from dotloupe.prepare.picture_file import write_picture
from dotloupe.prepare.preparation import DEFAULT_RESIZE, Prepared, coded, prepare, profile_of
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from dotloupe.capture import SentPicture
    from dotloupe.prepare.resampling import Resize
    from dotloupe.prepare.response_file import PrinterResponse
    from dotloupe.prepare.version import Version


def part_in_frame(picture: SentPicture, patch: Patch) -> FramedPart:
    """Find which part of a picture a frame holds.

    Raises
    ------
    InputError
        As `framed_part`, with the picture's file named.
    """
    try:
        return framed_part(patch, picture.shape, picture.ppi or np.nan)
    except InputError as error:
        raise InputError(f"{picture.path}: {error}") from error


def draw_frame(
    picture: SentPicture,
    patch: Patch,
    *,
    resize: Resize = DEFAULT_RESIZE,
    response: PrinterResponse | None = None,
    version: Version | None = None,
) -> NDArray[np.unsignedinteger[Any]]:
    """Draw the part of a picture in its frame of marks, in the picture's own profile and depth.

    The part is cut, pixel by pixel, from the whole picture as `prepare` makes it, or from a
    version that was made elsewhere, to the nearest pixel sent.

    Parameters
    ----------
    picture : SentPicture
        With its ppi.
    patch : Patch
        Of kind "picture".
    resize, response
        As of `prepare`.
    version : Version, optional
        Drawn in place of the picture, in its own profile and depth.

    Returns
    -------
    ndarray of shape (rows, columns, 3), uint8 or uint16

    Raises
    ------
    InputError
        As `part_in_frame` and `prepare`; the frame reaches beyond the version.
    """
    part = part_in_frame(picture, patch)
    sent = picture if version is None else version.picture
    prepared = prepare(sent, patch.sent_ppi, resize=resize, response=response)
    cut = part.cut if version is None else _cut_of(version, part, prepared, patch)
    marks = patch.reflectance().astype(np.float32)
    drawing = coded([marks[..., channel] for channel in range(3)], sent)
    drawing[part.place] = prepared.pixels[cut]
    return drawing


def _cut_of(
    version: Version, part: FramedPart, prepared: Prepared, patch: Patch
) -> tuple[slice, slice]:
    """Rows and columns of a framed part in a version as it is sent."""
    per_mm = patch.sent_ppi / MM_PER_INCH
    cut = []
    for axis, (span, corner_mm) in enumerate(zip(part.cut, version.corner_mm[::-1], strict=True)):
        moved = round(corner_mm * per_mm)
        first, last = span.start - moved, span.stop - moved
        if first < 0 or last > prepared.pixels.shape[axis]:
            raise InputError(
                f"{version.picture.path}: the frame reaches beyond what it shows of the picture; "
                "give a version of the whole picture"
            )
        cut.append(slice(first, last))
    return cut[0], cut[1]


def save_frame(
    path: Path,
    picture: SentPicture,
    patch: Patch,
    *,
    resize: Resize = DEFAULT_RESIZE,
    response: PrinterResponse | None = None,
) -> Path:
    """Write a frame as a file for the printer.

    Raises
    ------
    InputError
        As `draw_frame`; it cannot be written.
    """
    drawing = draw_frame(picture, patch, resize=resize, response=response)
    write_picture(path, drawing, patch.sent_ppi, profile_of(picture)[0])
    return path
