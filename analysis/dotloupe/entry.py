"""The command as it is installed: its help at once, all else once the command library is loaded."""

from __future__ import annotations

import os
import sys
from shutil import get_terminal_size

HELP = f"{__file__.removesuffix('entry.py')}help.txt"
"""What `dotloupe --help` prints; DEVELOPERS.md says how it is made anew.

A plain path, as `pathlib` takes as long to load as all else here.
"""
COLUMNS = 80
"""From this width on the command library breaks no line earlier."""


def main() -> None:
    """Run the command."""
    if not _help_is_printed():
        from dotloupe.cli import main as run

        run()


def _help_is_printed() -> bool:
    """Print the help that was kept, where it alone is asked for and fits; False where it is not."""
    name = sys.argv[0].rpartition(os.sep)[2]
    if [name, *sys.argv[1:]] != ["dotloupe", "--help"] or get_terminal_size().columns < COLUMNS:
        return False
    if sys.stdout is None:  # closed before the start: the command knows what to do
        return False
    try:
        with open(HELP, encoding="ascii") as file:  # noqa: PTH123
            sys.stdout.write(file.read())
        sys.stdout.flush()
    except OSError:  # the command says what is wrong
        return False
    return True
