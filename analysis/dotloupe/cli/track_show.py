"""`dotloupe track show`: one number over time, with advice."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.parser import Parser, add_history, add_names
from dotloupe.cli.streams import DONE, say

DESCRIPTION = """\
Follow one number over time, with advice.

Example: dotloupe track show grain --mode fast --out report
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe track show", DESCRIPTION)
    made.add_argument(
        "number",
        nargs="?",
        metavar="NUMBER",
        default="grain",
        help="The number to follow (default: grain).",
    )
    add_names(made)
    made.add_argument("--out", type=Path, metavar="FOLDER", help="Folder of a report.")
    add_history(made)
    return made


def run(given: Namespace) -> int:
    """Print the number's course and the advice; return the exit status."""
    from dotloupe.compare.history import History
    from dotloupe.report.text import advice_sentence

    trend = History(given.history).track(
        given.number, printer=given.printer, mode=given.mode, paper=given.paper
    )
    for point in trend.points:
        say(f"{point.printed_on}  {point.value:#.4g} {trend.unit}")
    say(advice_sentence(trend))
    if given.out is not None:
        from dotloupe.report import write_report

        say(f"Report: {write_report(trend, given.out)}")
    return DONE
