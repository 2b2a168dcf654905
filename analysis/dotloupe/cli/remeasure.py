"""`dotloupe remeasure`: measure again what was published."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dotloupe.cli.output import exit_status, name_faults, progress
from dotloupe.cli.parser import Parser, add_quiet
from dotloupe.cli.streams import say

DESCRIPTION = """\
Measure again what was published, and list every number that moved beyond its interval.

Example: dotloupe remeasure report.json
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe remeasure", DESCRIPTION)
    made.add_argument("published", type=Path, metavar="PUBLISHED.json")
    add_quiet(made, "No progress.")
    return made


def run(given: Namespace) -> int:
    """Measure again and list what moved; return the exit status."""
    from dotloupe.report.text import correction_line
    from dotloupe.session import load_published, remeasure
    from dotloupe.storage import program_version

    found = load_published(given.published)
    with progress(len(found.captures), given.quiet) as advance:
        moved, measurements = remeasure(found, progress=advance)
    name_faults(measurements)
    for correction in moved:
        say(correction_line(correction))
    count = "nothing" if not moved else f"{len(moved)} thing{'s' * (len(moved) > 1)}"
    then, now = found.result.get("version", "an unknown version"), program_version()
    say(
        f"{given.published}: {count} to correct; {len(measurements)} captures, "
        f"published with {then}, measured again with {now}"
    )
    return exit_status(measurements)
