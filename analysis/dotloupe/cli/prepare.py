"""`dotloupe prepare`: a picture made ready to send to the printer."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.parser import Parser, whole_number
from dotloupe.cli.preparing import add_preparing, preparing
from dotloupe.cli.streams import DONE, say

DESCRIPTION = """\
Resample a picture to the ppi to send, and sharpen it for a printer whose response was measured.

Example: dotloupe prepare photo.tif --print-width-mm 300 --ppi 600 --out send.tif

After dotloupe measure fast/* --camera edge.tif --json fast.json, sharpened for that printer:

Example: dotloupe prepare photo.tif --print-width-mm 300 --ppi 600 --out send.tif
         --sharpen-for fast.json

Print what it writes at 100 %, unscaled, without the driver's sharpening.
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe prepare", DESCRIPTION)
    made.add_argument("picture", type=Path, metavar="PICTURE")
    made.add_argument(
        "--ppi", type=whole_number(), metavar="N", required=True, help="Pixels per inch to send."
    )
    add_preparing(made)
    made.add_argument(
        "--out", type=Path, metavar="FILE", required=True, help="TIFF, PNG or JPEG to write."
    )
    return made


def run(given: Namespace) -> int:
    """Prepare the picture, write it, and say what was done; return the exit status."""
    from dotloupe.prepare import check_suffix, prepare
    from dotloupe.report.text import prepared_lines

    use = preparing(given)
    check_suffix(given.out, 8 * use.picture.pixels.dtype.itemsize)
    prepared = prepare(use.picture, given.ppi, resize=use.resize, response=use.response)
    prepared.save(given.out)
    for line in prepared_lines(prepared, str(given.out)):
        say(line)
    return DONE
