"""`dotloupe track event`: what was done to the printer."""

from __future__ import annotations

from argparse import Namespace

from dotloupe.cli.parser import Parser, add_history
from dotloupe.cli.streams import DONE, say
from dotloupe.errors import InputError

DESCRIPTION = """\
Note what was done to the printer.

Example: dotloupe track event alignment --printer desk --date 2026-03-12
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe track event", DESCRIPTION)
    made.add_argument(
        "kind", metavar="EVENT", help="alignment, cleaning, service, move, inks or paper."
    )
    made.add_argument("--printer", metavar="NAME", required=True, help="Name of the printer.")
    made.add_argument("--date", metavar="DAY", required=True, help="The day, 2026-03-12.")
    made.add_argument("--note", metavar="TEXT", default="", help="Anything to remember.")
    add_history(made)
    return made


def run(given: Namespace) -> int:
    """Note the event; return the exit status."""
    from dotloupe.compare.history import EVENT_KINDS, History

    kind = next((known for known in EVENT_KINDS if known == given.kind), None)
    if kind is None:
        raise InputError(f"event {given.kind}: choose {', '.join(EVENT_KINDS)}")
    History(given.history).add_event(
        kind, printer=given.printer, happened_on=given.date, note=given.note
    )
    say(f"{given.history}: {kind} of {given.printer} on {given.date}")
    return DONE
