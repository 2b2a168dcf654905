"""The options of the command for photographs of one's own picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.session import OwnPictureFile

PictureFile = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="The picture sent, for photographs that show it and no patch."
    ),
]
PrintWidth = Annotated[
    float | None,
    typer.Option(
        "--print-width-mm",
        metavar="MM",
        help="Width of the picture's whole print; by default by the ppi that its file states.",
    ),
]


def own_picture(picture: Path | None, print_width_mm: float | None) -> OwnPictureFile | None:
    """The picture that was given, if any."""
    from dotloupe.session import OwnPictureFile

    if picture is not None:
        return OwnPictureFile(picture, print_width_mm)
    if print_width_mm is not None:
        raise InputError("--print-width-mm: give the picture that was printed so wide, --picture")
    return None
