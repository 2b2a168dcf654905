"""Reading what was typed: options that several commands share, and values that are checked."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, RawDescriptionHelpFormatter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from argparse import Namespace

    from dotloupe.session import RunOptions


class Parser(ArgumentParser):
    """A parser of one command's words; what it cannot read is an error of the input."""

    def __init__(self, prog: str, description: str) -> None:
        super().__init__(
            prog=prog,
            description=description,
            formatter_class=RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )

    def error(self, message: str) -> NoReturn:
        """Refuse words that it cannot read.

        Parameters
        ----------
        message : str
            Which option or argument, and what is wrong.

        Raises
        ------
        InputError
            Always.
        """
        raise InputError(f"{message}; {self.prog} --help shows an example")


def whole_number(least: int | None = None, most: int | None = None) -> Callable[[str], int]:
    """Reader of a whole number within bounds, for an option.

    Parameters
    ----------
    least, most : int, optional

    Returns
    -------
    callable
        From the text typed to the number.
    """

    def read(text: str) -> int:
        try:
            number = int(text)
        except ValueError:
            raise ArgumentTypeError(f"{text} is not a whole number") from None
        if least is not None and number < least:
            raise ArgumentTypeError(f"{text} is too small; give at least {least}")
        if most is not None and number > most:
            raise ArgumentTypeError(f"{text} is too large; give at most {most}")
        return number

    return read


def number(text: str) -> float:
    """Read a number, for an option."""
    try:
        return float(text)
    except ValueError:
        raise ArgumentTypeError(f"{text} is not a number") from None


def add_places(parser: ArgumentParser, metavar: str) -> None:
    """Add the folders or captures that a command reads.

    Parameters
    ----------
    parser : ArgumentParser
    metavar : str
        What they are.
    """
    parser.add_argument("places", nargs="+", type=Path, metavar=metavar)


def add_picture(parser: ArgumentParser) -> None:
    """Add the options for photographs of one's own picture."""
    parser.add_argument(
        "--picture",
        type=Path,
        metavar="FILE",
        help="The picture that was sent, where the photographs show it and no patch.",
    )
    parser.add_argument(
        "--print-width-mm",
        type=number,
        metavar="MM",
        help="Print width of the whole picture (default: from the ppi stated in its file).",
    )


def add_blank(parser: ArgumentParser) -> None:
    """Add the photograph of blank paper."""
    parser.add_argument(
        "--blank",
        type=Path,
        metavar="FILE",
        help="Photograph of blank paper in the same set-up, to even out the light.",
    )


def add_camera(parser: ArgumentParser) -> None:
    """Add the photograph of a reference edge."""
    parser.add_argument(
        "--camera",
        type=Path,
        metavar="FILE",
        help="Photograph of a reference edge in the same set-up, to take the camera's softness "
        "out. "
        "The marks on the prints give its scale.",
    )


def add_camera_by_scale(parser: ArgumentParser) -> None:
    """Add the two photographs of one print that tell the camera's response."""
    parser.add_argument(
        "--camera-by-scale",
        nargs=2,
        type=Path,
        metavar=("FAR", "NEAR"),
        help="In place of --camera: two photographs of one print at one aperture, the second "
        "nearer, "
        "with at least 1.5 times the pixels/mm. Captures named NAME_shot1 and NAME_shot2 are found "
        "without this option.",
    )


def add_printed(parser: ArgumentParser) -> None:
    """Add how the prints were fed, and how large they are."""
    parser.add_argument(
        "--turned",
        action="store_true",
        help="The prints were turned by 90 degrees; x and y then follow the printer.",
    )
    parser.add_argument(
        "--true-width-mm",
        type=number,
        metavar="MM",
        help="Width over the corner marks, outer edge to outer edge, measured on prints that are "
        "not at 100 %% (drawn: 29).",
    )


def add_measuring(parser: ArgumentParser) -> None:
    """Add the options of every command that measures captures."""
    add_picture(parser)
    add_blank(parser)
    add_camera(parser)
    add_camera_by_scale(parser)
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="Measure on the Dask cluster of this scheduler.",
    )
    add_printed(parser)
    add_json(parser)
    add_quiet(parser)


def add_json(parser: ArgumentParser) -> None:
    """Add the file for programs to read."""
    parser.add_argument(
        "--json",
        dest="json_file",
        metavar="FILE",
        help="Write the result here; - prints it.",
    )


def add_quiet(parser: ArgumentParser, what: str = "No progress, no tables.") -> None:
    """Add the option that leaves out what a script does not want.

    Parameters
    ----------
    parser : ArgumentParser
    what : str
        What is left out.
    """
    parser.add_argument("--quiet", action="store_true", help=what)


def add_report(parser: ArgumentParser) -> None:
    """Add the folder of the report."""
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER",
        default=Path("dotloupe_report"),
        help="Folder of the report (default: %(default)s).",
    )
    add_circumstances(parser)


def add_circumstances(parser: ArgumentParser) -> None:
    """Add what a person says of the test: a title and a note."""
    parser.add_argument("--title", metavar="TEXT", default="", help="Your title for the report.")
    parser.add_argument(
        "--note",
        metavar="TEXT",
        default="",
        help="Who tested, and anything else that readers of the report should know.",
    )


def add_names(parser: ArgumentParser) -> None:
    """Add printer, paper and mode, by which a history is kept."""
    for option, what in (("printer", "printer"), ("paper", "paper"), ("mode", "driver's mode")):
        parser.add_argument(f"--{option}", metavar="NAME", help=f"Name of the {what}.")


def add_history(parser: ArgumentParser) -> None:
    """Add the file of the history."""
    parser.add_argument(
        "--history",
        type=Path,
        metavar="FILE",
        default=Path("dotloupe_history.sqlite"),
        help="File of the history (default: %(default)s).",
    )


def run_options(given: Namespace) -> RunOptions:
    """Options of a run from what was typed.

    Parameters
    ----------
    given : Namespace
        With blank, and with picture, width, camera, its two distances and cluster where the
        command has them.

    Raises
    ------
    InputError
        A width without a picture; two ways to the camera; a reference edge, distance or blank
        that cannot be read, or is no blank.
    NotFitError
        The reference edge shows no edge, or the two distances do not tell of the camera.
    """
    from dotloupe.capture import load_flat_field
    from dotloupe.session import (
        OwnPictureFile,
        RunOptions,
        load_camera_by_scale,
        load_reference_edge,
    )

    picture, width_mm = (getattr(given, name, None) for name in ("picture", "print_width_mm"))
    if picture is None and width_mm is not None:
        raise InputError("--print-width-mm: give the picture that was printed so wide, --picture")
    camera, scales = (getattr(given, name, None) for name in ("camera", "camera_by_scale"))
    if camera is not None and scales is not None:
        raise InputError("--camera-by-scale: --camera is given too; give one of the two")
    options = RunOptions(
        picture=picture and OwnPictureFile(picture, width_mm),
        camera=camera and load_reference_edge(camera),
        blank=given.blank and load_flat_field(given.blank),
        cluster=getattr(given, "cluster", None),
        turned=getattr(given, "turned", False),
        true_width_mm=getattr(given, "true_width_mm", None),
    )
    if scales is None:
        return options
    far, near = scales
    return replace(options, camera_by_scale=load_camera_by_scale(far, near, options))
