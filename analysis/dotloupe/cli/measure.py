"""`dotloupe measure`: every number of single photographs."""

from __future__ import annotations

from argparse import Namespace
from contextlib import ExitStack
from dataclasses import replace

from dotloupe.cli.output import check_places, exit_status, name_faults, progress, write_json
from dotloupe.cli.parser import Parser, add_measuring, add_places, run_options
from dotloupe.cli.settings import flat
from dotloupe.cli.streams import say

DESCRIPTION = """\
Measure photographs of patches, or of your own picture.

Example: dotloupe measure fast/*.jpg --json fast.json

Example: dotloupe measure close_ups --picture sent.tif --print-width-mm 300

Example: dotloupe measure somebodys_test.zip
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe measure", DESCRIPTION)
    add_places(made, "CAPTURE|PLAN.toml|BUNDLE.zip")
    add_measuring(made)
    return made


def run(given: Namespace) -> int:
    """Measure, print and write; return the exit status."""
    from dotloupe.session import is_bundle, opened_bundle

    check_places(given.json_file)
    with ExitStack() as unpacked:
        given.places = [
            path
            for place in given.places
            for path in (
                unpacked.enter_context(opened_bundle(place)) if is_bundle(place) else [place]
            )
        ]
        return _measure(given)


def _measure(given: Namespace) -> int:
    from dotloupe.capture import given_paths
    from dotloupe.report.text import caution_text, measurement_table
    from dotloupe.session import (
        measure_paths,
        measure_planned,
        plan_given,
        planned_captures,
        planned_options,
    )

    options = run_options(given)
    if plan := plan_given(given.places):
        planned = planned_captures(plan)
        options = planned_options(plan, options)
        with progress(len(planned), given.quiet) as advance:
            measurements = flat(measure_planned(planned, replace(options, progress=advance)))
    else:
        paths = given_paths(given.places)
        with progress(len(paths), given.quiet) as advance:
            found = measure_paths(paths, replace(options, progress=advance))
            measurements = [m.bare() for m in found]
    name_faults(measurements)
    if given.json_file != "-" and not given.quiet:
        for measurement in filter(lambda m: m.fit, measurements):
            say(measurement_table(measurement))
    write_json(given.json_file, [m.to_dict(caution_text) for m in measurements])
    return exit_status(measurements)
