"""A frame of marks round a part of a picture, as it is sent to the printer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.patch import Patch, framed_part
from dotloupe.prepare.picture_file import write_picture
from dotloupe.prepare.preparation import DEFAULT_RESIZE, coded, prepare, profile_of

if TYPE_CHECKING:
    from dotloupe.capture import SentPicture
    from dotloupe.prepare.resampling import Resize
    from dotloupe.prepare.response_file import PrinterResponse


def draw_frame(
    picture: SentPicture,
    patch: Patch,
    *,
    resize: Resize = DEFAULT_RESIZE,
    response: PrinterResponse | None = None,
) -> NDArray[np.unsignedinteger[Any]]:
    """Draw the part of a picture in its frame of marks, in the picture's own profile and depth.

    The part is cut, pixel by pixel, from the whole picture as `prepare` makes it.

    Parameters
    ----------
    picture : SentPicture
        With its ppi.
    patch : Patch
        Of kind "picture".
    resize, response
        As of `prepare`.

    Returns
    -------
    ndarray of shape (rows, columns, 3), uint8 or uint16

    Raises
    ------
    InputError
        As `framed_part` and `prepare`.
    """
    part = framed_part(patch, picture.shape, picture.ppi or np.nan)
    prepared = prepare(picture, patch.sent_ppi, resize=resize, response=response)
    marks = patch.reflectance().astype(np.float32)
    drawing = coded([marks[..., channel] for channel in range(3)], picture)
    drawing[part.place] = prepared.pixels[part.cut]
    return drawing


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
