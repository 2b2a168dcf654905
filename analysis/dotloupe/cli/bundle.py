"""`dotloupe bundle`: a test packed for others, without anything that tells of its owner."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.output import progress
from dotloupe.cli.parser import Parser, add_places, add_quiet
from dotloupe.cli.streams import DONE, say

DESCRIPTION = """\
Pack the photographs of a test for others to measure: each reduced to its patch, with its numbers
and a licence that you choose. Names of files, owners, places, times and serial numbers stay out;
names of settings go in.

Example: dotloupe bundle fast fine --licence CC-BY-4.0 --out my_test.zip

`dotloupe measure my_test.zip` gives the same numbers again.
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    from dotloupe.session import LICENCES

    made = Parser("dotloupe bundle", DESCRIPTION)
    add_places(made, "FOLDER")
    made.add_argument("--out", type=Path, required=True, metavar="FILE.zip", help="The bundle.")
    made.add_argument(
        "--licence",
        required=True,
        choices=list(LICENCES),
        help="Licence under which others may use the photographs and numbers.",
    )
    made.add_argument("--note", default="", help="Printer, paper, camera: for those who open it.")
    add_quiet(made)
    return made


def run(given: Namespace) -> int:
    """Measure, reduce, measure again and pack; return the exit status."""
    from dotloupe.report.text import bundle_lines
    from dotloupe.session import RunOptions, pack_bundle, setting_paths

    settings = setting_paths(given.places, at_least=1)
    with progress(2 * sum(map(len, settings.values())), given.quiet) as advance:
        packed = pack_bundle(
            settings,
            given.out,
            licence=given.licence,
            note=given.note,
            options=RunOptions(progress=advance),
        )
    if not given.quiet:
        lines = bundle_lines(
            given.out.name,
            settings=tuple(settings),
            photographs=len(packed.files),
            size_bytes=packed.size_bytes,
            changed=packed.changed,
            left_out=packed.left_out,
        )
        say("\n".join(lines))
    return DONE
