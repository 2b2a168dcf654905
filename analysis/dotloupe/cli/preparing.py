"""Options by which a picture is prepared, alone or in a frame of marks, and what they name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from dotloupe.cli.parser import number
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from dotloupe.capture import SentPicture
    from dotloupe.prepare import PrinterResponse, Resize


@dataclass(frozen=True)
class Preparing:
    """A picture, and how it is resampled and sharpened."""

    picture: SentPicture
    resize: Resize
    response: PrinterResponse | None


def add_preparing(parser: ArgumentParser) -> None:
    """Add width, method and sharpening."""
    from pathlib import Path

    parser.add_argument(
        "--print-width-mm", type=number, metavar="W", help="Width of the whole picture's print."
    )
    parser.add_argument(
        "--resize",
        metavar="METHOD",
        help="Resample by area, bilinear, bicubic or lanczos (default).",
    )
    parser.add_argument(
        "--sharpen-for",
        type=Path,
        metavar="RESULT.json",
        help="Result of measure --json or rank --json, with --camera, for this printer's patch "
        "at this ppi.",
    )
    parser.add_argument(
        "--setting", metavar="NAME", help="Setting in RESULT.json that will print the picture."
    )


def preparing(given: Namespace) -> Preparing:
    """Read the picture and the printer's response, and check the method.

    Raises
    ------
    InputError
        An option that is missing or wrong, or a file that cannot be read.
    """
    from dotloupe.prepare import RESIZES, load_master, load_response

    resize = given.resize or "lanczos"
    if resize not in RESIZES:
        raise InputError(f"--resize {resize}: choose {', '.join(RESIZES)}")
    if given.print_width_mm is None:
        raise InputError(f"{given.picture}: give the width of its print, --print-width-mm")
    if given.setting is not None and given.sharpen_for is None:
        raise InputError("--setting: give the result that holds it, --sharpen-for")
    picture = load_master(given.picture, given.print_width_mm)
    response = None
    if given.sharpen_for is not None:
        response = load_response(given.sharpen_for, given.ppi, given.setting)
    return Preparing(picture, cast("Resize", resize), response)
