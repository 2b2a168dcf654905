"""`dotloupe track show`: is the head due? By all numbers, or one."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.cli.output import check_places, say_report, write_json
from dotloupe.cli.parser import Parser, add_circumstances, add_history, add_json, add_names
from dotloupe.cli.settings import circumstances
from dotloupe.cli.streams import DONE, say

if TYPE_CHECKING:
    from dotloupe.compare.history import HeadVerdict, Trend

DESCRIPTION = """\
Is the head due for alignment or cleaning? One answer from all the numbers in the history.

Name a number to follow it alone.

Example: dotloupe track show --mode fast --out report

Example: dotloupe track show grain --baseline 2026-02-01..2026-04-30
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe track show", DESCRIPTION)
    made.add_argument(
        "number", nargs="?", metavar="NUMBER", help="One number to follow (default: judge all)."
    )
    add_names(made)
    made.add_argument(
        "--baseline",
        metavar="FROM[..TO]",
        help="Days of the prints to compare with; by default events begin and end baselines.",
    )
    made.add_argument("--out", type=Path, metavar="FOLDER", help="Folder of a report.")
    add_circumstances(made)
    add_json(made)
    add_history(made)
    return made


def run(given: Namespace) -> int:
    """Print the verdict, or a number's course; return the exit status."""
    from dotloupe.compare.history import History
    from dotloupe.report import head_json, history_model, trend_json, write_report
    from dotloupe.report.text import history_table

    check_places(given.json_file, given.out)
    chosen = {
        "printer": given.printer,
        "mode": given.mode,
        "paper": given.paper,
        "baseline": _baseline(given.baseline),
    }
    history = History(given.history)
    result: HeadVerdict | Trend
    if given.number is None:
        result = verdict = history.verdict(**chosen)
        content = head_json(verdict)
    else:
        result = trend = history.track(given.number, **chosen)
        content = trend_json(trend)
    if given.json_file != "-":
        say(history_table(history_model(result)))
    write_json(given.json_file, content)
    if given.out is not None:
        say_report(
            write_report(result, given.out, circumstances=circumstances(given)), given.json_file
        )
    return DONE


def _baseline(text: str | None) -> tuple[str, str] | None:
    """First and last day from what was typed; a single day is both."""
    if text is None:
        return None
    first, _, last = text.partition("..")
    return first.strip(), (last or first).strip()
