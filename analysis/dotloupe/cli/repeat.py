"""`dotloupe repeat`: how well printer and set-up repeat."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from dotloupe.cli.output import check_places, exit_status, say_report, write_json
from dotloupe.cli.parser import Parser, add_circumstances, add_measuring, add_places, run_options
from dotloupe.cli.settings import circumstances, flat, measured_settings
from dotloupe.cli.streams import say

DESCRIPTION = """\
How well do printer and set-up repeat? Photograph several prints twice or more, as print1_shot1,
print1_shot2. Lay the sheet and focus again each time.

Example: dotloupe repeat fast --out report
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe repeat", DESCRIPTION)
    add_places(made, "FOLDER|PLAN.toml")
    made.add_argument("--out", type=Path, metavar="FOLDER", help="Folder of a report.")
    add_circumstances(made)
    add_measuring(made)
    return made


def run(given: Namespace) -> int:
    """Measure, separate the variances, print and write; return the exit status."""
    from dotloupe.compare.repeatability import repeatability
    from dotloupe.report import repeat_json, repeat_model, write_report
    from dotloupe.report.text import repeat_table

    check_places(given.json_file, given.out)
    # a second photograph is a repeat here, and takes nothing out of the first
    options = replace(run_options(given), pair_shots=False)
    settings, _ = measured_settings(given.places, options, quiet=given.quiet, at_least=1)
    found = repeatability(settings)
    if given.json_file != "-" and not given.quiet:
        say(repeat_table(repeat_model(found)))
    write_json(given.json_file, repeat_json(found))
    if given.out is not None:
        say_report(
            write_report(found, given.out, circumstances=circumstances(given)), given.json_file
        )
    return exit_status(flat(settings))
