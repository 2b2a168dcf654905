"""The options of every command that measures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.session import RunOptions

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


def run_options(
    picture: Path | None,
    print_width_mm: float | None,
    camera: Path | None = None,
    cluster: str | None = None,
) -> RunOptions:
    """Options of a run from what was typed.

    Raises
    ------
    InputError
        A width without a picture, or a reference edge that cannot be read.
    """
    from dotloupe.session import OwnPictureFile, RunOptions, load_reference_edge

    if picture is None and print_width_mm is not None:
        raise InputError("--print-width-mm: give the picture that was printed so wide, --picture")
    return RunOptions(
        picture=None if picture is None else OwnPictureFile(picture, print_width_mm),
        camera=None if camera is None else load_reference_edge(camera),
        cluster=cluster,
    )
