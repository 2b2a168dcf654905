"""`dotloupe track add`: captures into the history of a printer."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from dotloupe.cli.output import progress
from dotloupe.cli.parser import (
    Parser,
    add_blank,
    add_camera,
    add_history,
    add_names,
    add_places,
    add_printed,
    add_quiet,
    run_options,
)
from dotloupe.cli.streams import DONE, say
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.compare.history import History
    from dotloupe.measurement import Measurement
    from dotloupe.session import Plan, RunOptions

DESCRIPTION = """\
Measure captures and add them; adding one twice changes nothing.

A session file names printer, paper, mode and day itself.

Example: dotloupe track add march --printer desk --paper lustre --mode fast

Example: dotloupe track add plan.toml
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe track add", DESCRIPTION)
    add_places(made, "CAPTURE|PLAN.toml")
    add_names(made)
    made.add_argument("--date", metavar="DAY", default="", help="Day of printing, 2026-03-12.")
    add_blank(made)
    add_camera(made)
    add_printed(made)
    add_history(made)
    add_quiet(made, "No progress.")
    return made


def run(given: Namespace) -> int:
    """Measure and add; return the exit status."""
    from dotloupe.capture import given_paths
    from dotloupe.compare.history import History
    from dotloupe.report.text import caution_text
    from dotloupe.session import measure_paths, plan_given, readable

    options = run_options(given)
    store = History(given.history)
    names = {noun: getattr(given, noun) or "" for noun in ("printer", "paper", "mode")}
    if plan := plan_given(given.places):
        if any(names.values()) or given.date:
            raise InputError(
                f"{plan.path}: it names printer, paper, mode and day; leave the options out"
            )
        new, count = _add_planned(store, plan, options, quiet=given.quiet)
    else:
        missing = [f"--{noun}" for noun, name in names.items() if not name.strip()]
        if missing:
            raise InputError(f"track add: give {', '.join(missing)}, or a session file PLAN.toml")
        paths = given_paths(given.places)
        with progress(len(paths), given.quiet) as advance:
            measured = readable(measure_paths(paths, replace(options, progress=advance)))
        day = given.date or date.today().isoformat()  # noqa: DTZ011  the person's own day
        added = store.add(measured, **names, printed_on=day, words=caution_text)
        new, count = len(added), len(measured)
    say(f"{given.history}: {new} of {count} captures are new")
    return DONE


def _add_planned(
    store: History, plan: Plan, options: RunOptions, *, quiet: bool
) -> tuple[int, int]:
    """Add a plan's captures, those of one place in the history and day together.

    Returns how many are new, of how many.
    """
    from dotloupe.report.text import caution_text
    from dotloupe.session import measure_each_planned, planned_captures, readable

    planned = planned_captures(plan)
    undated = next((c.run for c in planned if c.run.printed is None), None)
    if undated is not None:
        message = f"run {undated.run} has no day of printing; add printed = 2026-03-12"
        raise plan.fault(("runs", plan.runs.index(undated)), message)
    distance = plan.viewing_distance_mm
    with progress(len(planned), quiet) as advance:
        options = replace(options, viewing_distance_mm=distance, progress=advance)
        measured = measure_each_planned(planned, options)
    groups: dict[tuple[str, str, str, date], list[Measurement]] = {}
    for capture, found in measured:
        run = capture.run
        if run.printed is not None:
            key = (run.printer, run.paper, run.mode, run.printed)
            groups.setdefault(key, []).extend(readable(found))
    added = [
        store.add(
            group,
            printer=printer,
            paper=paper,
            mode=mode,
            printed_on=day,
            words=caution_text,
        )
        for (printer, paper, mode, day), group in groups.items()
    ]
    return sum(map(len, added)), sum(map(len, groups.values()))
