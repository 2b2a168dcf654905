"""`dotloupe rank`: which setting prints better."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.output import check_places, exit_status, say_report, write_json
from dotloupe.cli.parser import (
    Parser,
    add_measuring,
    add_names,
    add_places,
    add_report,
    run_options,
)
from dotloupe.cli.settings import circumstances, flat, known_spreads, measured_settings
from dotloupe.cli.streams import say

DESCRIPTION = """\
Rank settings, a folder of captures each, or those of a session file.

Example: dotloupe rank fast fine --out report

Example: dotloupe rank fast fine --history desk.sqlite --mode fast

Example: dotloupe rank fast fine --picture sent.tif --print-width-mm 300
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe rank", DESCRIPTION)
    add_places(made, "FOLDER|PLAN.toml")
    made.add_argument(
        "--history",
        type=Path,
        metavar="FILE",
        help="History of the printer; its spread of prints is combined with that of these prints "
        "(off by default).",
    )
    add_names(made)
    add_report(made)
    add_measuring(made)
    return made


def run(given: Namespace) -> int:
    """Measure, rank, print and write; return the exit status."""
    from dotloupe.compare.ranking import rank
    from dotloupe.report import ranking_json, ranking_model, write_report
    from dotloupe.report.text import differences, differences_text, ranking_table

    check_places(given.json_file, given.out)
    known = known_spreads(given)
    settings, distance_mm = measured_settings(given.places, run_options(given), quiet=given.quiet)
    ranking = rank(settings, viewing_distance_mm=distance_mm, known_spreads=known)
    if given.json_file != "-" and not given.quiet:
        say(ranking_table(ranking_model(ranking)))
        further = differences(ranking)
        if further is not None:
            say(f"\n{differences_text(further)}\n")
    write_json(given.json_file, ranking_json(ranking))
    say_report(
        write_report(ranking, given.out, circumstances=circumstances(given)), given.json_file
    )
    return exit_status(flat(settings))
