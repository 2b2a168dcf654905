"""`dotloupe open`: the workbench in the browser."""

from __future__ import annotations

from argparse import BooleanOptionalAction, Namespace
from pathlib import Path

from dotloupe.cli.parser import Parser, add_history, whole_number
from dotloupe.cli.streams import DONE, say

DESCRIPTION = """\
Open a folder of captures in the browser: print sheets, drop, check, compare, keep a history.

The page is served on this machine alone, until Ctrl-C.

Example: dotloupe open lustre_test
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe open", DESCRIPTION)
    made.add_argument("folder", type=Path, metavar="FOLDER")
    made.add_argument(
        "--port",
        type=whole_number(0, 65535),
        metavar="N",
        default=0,
        help="Port on this machine; 0 picks a free one.",
    )
    made.add_argument(
        "--browser",
        action=BooleanOptionalAction,
        default=True,
        help="Open the page in the browser.",
    )
    add_history(made)
    return made


def run(given: Namespace) -> int:
    """Serve the page until Ctrl-C; return the exit status."""
    from dotloupe.workbench import serve

    made = not given.folder.exists()

    def ready(address: str) -> None:
        say(f"{given.folder}: open at {address} (this machine alone; Ctrl-C ends it)")
        if made:
            say("the folder was made just now; if another was meant, end this and give it")
        if given.browser:
            import webbrowser

            webbrowser.open(address)

    try:
        serve(given.folder, given.history, port=given.port, ready=ready)
    except KeyboardInterrupt:
        say("closed; photographs, settings and report are kept in the folder", error=True)
    return DONE
