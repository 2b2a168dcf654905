"""`dotloupe track export`: the whole history as CSV and JSON."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.parser import Parser, add_history
from dotloupe.cli.streams import DONE, say

DESCRIPTION = """\
Write everything as CSV and JSON.

Example: dotloupe track export --out desk_history
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe track export", DESCRIPTION)
    made.add_argument(
        "--out", type=Path, metavar="FOLDER", required=True, help="Folder for CSV and JSON."
    )
    add_history(made)
    return made


def run(given: Namespace) -> int:
    """Write the files; return the exit status."""
    from dotloupe.compare.history import History

    for path in History(given.history).export(given.out):
        say(str(path))
    return DONE
