"""`dotloupe effects`: which choice did it, and what depends on what."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.cli.output import (
    check_places,
    exit_status,
    name_faults,
    progress,
    say_report,
    write_json,
)
from dotloupe.cli.parser import (
    Parser,
    add_measuring,
    add_names,
    add_places,
    add_report,
    run_options,
)
from dotloupe.cli.settings import by_setting, circumstances, flat, known_spreads
from dotloupe.cli.streams import say
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.compare.effects import CostKind, Level
    from dotloupe.measurement import Measurement
    from dotloupe.session import RunOptions

    Settings = Mapping[str, tuple[Measurement, ...]]
    Levels = Mapping[str, Mapping[str, Level]]
    Costs = Mapping[str, Mapping[CostKind, float]]

DESCRIPTION = """\
Which choice did it: the effect of each factor of a session file, and which depends on which.

Example: dotloupe effects plan.toml --out report

Example: dotloupe effects fast/before fast/after slow/before slow/after --factors mode,alignment
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe effects", DESCRIPTION)
    add_places(made, "FOLDER|PLAN.toml")
    made.add_argument(
        "--factors",
        metavar="NAME,NAME",
        help="What the outer and the inner folders stand for.",
    )
    made.add_argument(
        "--history",
        type=Path,
        metavar="FILE",
        help="History of the printer; its spread of prints is used where no print is repeated.",
    )
    add_names(made)
    add_report(made)
    add_measuring(made)
    return made


def run(given: Namespace) -> int:
    """Measure, compare, print and write; return the exit status."""
    from dotloupe.compare.effects import effects
    from dotloupe.report import effects_json, effects_model, write_report
    from dotloupe.report.text import effects_table

    check_places(given.json_file, given.out)
    known = known_spreads(given)
    settings, levels, costs, distance_mm = _measured(given, run_options(given))
    name_faults(flat(settings))
    found = effects(settings, levels, costs=costs, known_spreads=known)
    found = replace(
        found,
        viewing_distance_mm=distance_mm,
        parameters={**found.parameters, "viewing_distance_mm": distance_mm},
    )
    if given.json_file != "-" and not given.quiet:
        say(effects_table(effects_model(found)))
    write_json(given.json_file, effects_json(found))
    say_report(write_report(found, given.out, circumstances=circumstances(given)), given.json_file)
    return exit_status(flat(settings))


def _measured(given: Namespace, options: RunOptions) -> tuple[Settings, Levels, Costs, float]:
    """Measure a plan or folders of two levels: settings, levels, costs, viewing distance."""
    from dotloupe.session import (
        compared_captures,
        crossed_folders,
        measure_planned,
        measure_settings,
        plan_given,
        planned_costs,
        planned_levels,
        refuse_duplicates,
    )

    plan = plan_given(given.places)
    if plan is None:
        named = (given.factors.split(","),) if given.factors else ()
        paths, levels = crossed_folders(given.places, *named)
        refuse_duplicates(paths)
        with progress(sum(map(len, paths.values())), given.quiet) as advance:
            measured = measure_settings(paths, replace(options, progress=advance))
        return measured, levels, {}, options.viewing_distance_mm
    if given.factors:
        raise InputError(f"{plan.path}: it names its factors; leave --factors out")
    options = replace(options, viewing_distance_mm=plan.viewing_distance_mm)
    planned = compared_captures(plan)
    refuse_duplicates(by_setting(planned))
    with progress(len(planned), given.quiet) as advance:
        settings = measure_planned(planned, replace(options, progress=advance))
    return settings, planned_levels(planned), planned_costs(planned), options.viewing_distance_mm
