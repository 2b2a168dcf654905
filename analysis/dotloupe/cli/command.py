"""The command: which of its commands is meant, and how each ends."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING

from dotloupe.cli import completion
from dotloupe.cli.streams import (
    DONE,
    INPUT_AT_FAULT,
    INTERRUPTED,
    NONE_FIT,
    discard_output,
    prepare_streams,
    say_fault,
    system_fault,
)
from dotloupe.errors import DotloupeError, InputError, NotFitError
from dotloupe.processes import TERMINATED, end_when_terminated

if TYPE_CHECKING:
    from dotloupe.cli.parser import Parser

HELP = {"-h", "--help"}
PURPOSE = "Measure how much detail a photo printer puts on paper."

COMMANDS = {
    "sheet": ("sheet", "Write a patch to print."),
    "prepare": ("prepare", "Make a picture ready to send to the printer."),
    "check": ("check", "Is each photograph fit to be measured?"),
    "open": ("open_folder", "Drop, check, assign and compare in the browser."),
    "measure": ("measure", "Print every number of single photographs."),
    "rank": ("rank", "Which setting prints better?"),
    "ladder": ("ladder", "How detail grows with the ppi sent."),
    "effects": ("effects", "Which choice did it, and what depends on what?"),
    "repeat": ("repeat", "How well do printer and set-up repeat?"),
    "bundle": ("bundle", "Pack a test for others to measure."),
    "remeasure": ("remeasure", "Measure again what was published."),
    "simulate": ("simulate", "Invent a capture, to try things without a printer."),
    "track add": ("track_add", "Add captures to a printer's history."),
    "track event": ("track_event", "Note what was done to the printer."),
    "track show": ("track_show", "Is the head due for alignment or cleaning?"),
    "track export": ("track_export", "Write the history as CSV and JSON."),
}
"""Each command's module, which defines `parser()` and `run(given)`, and what it does."""

WELCOME = """\
dotloupe measures how much detail a photo printer puts on paper.

  1  dotloupe sheet --ppi 600 --run 1 --label "fast mode" --out run1.tif
     Print run1.tif at 100 %, photograph it close up, put the photographs in a folder
     named after the setting. Do the same for each setting, each with its own run number.
  2  dotloupe check fast/*.jpg
     Is each photograph fit to be measured?
  3  dotloupe rank fast fine
     Which setting has more detail and less grain?

Or do 2 and 3 in the browser:  dotloupe open FOLDER

dotloupe --help lists every command, dotloupe COMMAND --help explains one.
"""


def main() -> None:
    """Run the command; every error is one line on standard error."""
    if completion.ASKED_FOR:
        completion.complete(COMMANDS)
    prepare_streams()
    try:
        status = _run(sys.argv[1:])
        # what is left in the buffer is written here, where a failure can still be reported
        sys.stdout.flush()
    except NotFitError as error:
        status = _failed(str(error), NONE_FIT)
    except DotloupeError as error:
        status = _failed(str(error), INPUT_AT_FAULT)
    except KeyboardInterrupt:
        status = _failed("interrupted; no file was left half written", INTERRUPTED)
    except SystemExit as ended:
        if ended.code != TERMINATED:
            raise
        status = _failed("ended from outside; no file was left half written", TERMINATED)
    except BrokenPipeError:  # whoever read the output has seen enough
        status = DONE
        discard_output()
    except (OSError, MemoryError) as error:
        status = _failed(system_fault(error), INPUT_AT_FAULT)
        discard_output()
    sys.exit(status)


def _run(words: list[str]) -> int:
    """Run the command that the words name, and return its exit status."""
    if not words:
        print(WELCOME, end="")  # noqa: T201
        return DONE
    name = next((n for n in (" ".join(words[:2]), words[0]) if n in COMMANDS), None)
    if name is None:
        return _without_a_command(words)
    module = import_module(f"dotloupe.cli.{COMMANDS[name][0]}")
    parser: Parser = module.parser()
    if HELP & set(words):
        print(parser.format_help(), end="")  # noqa: T201
        return DONE
    given = parser.parse_intermixed_args(words[len(name.split()) :])
    end_when_terminated()
    status: int = module.run(given)
    return status


def _without_a_command(words: list[str]) -> int:
    """List the commands, those of one group alone where it is named; refuse all else."""
    group = f"{words[0]} "
    inner = [name for name in COMMANDS if name.startswith(group)]
    listed, typed = (inner, words[1:]) if inner else (list(COMMANDS), words)
    if typed and not HELP & set(words):
        raise InputError(f"there is no command {typed[0]}; choose {', '.join(listed)}")
    lines = "\n".join(f"  {name:<14}{COMMANDS[name][1]}" for name in listed)
    print(f"usage: dotloupe COMMAND ...\n\n{PURPOSE}\n\ncommands:\n{lines}")  # noqa: T201
    return DONE


def _failed(message: str, status: int) -> int:
    say_fault(message)
    return status
