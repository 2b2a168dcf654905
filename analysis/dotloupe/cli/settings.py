"""The settings that `rank` and `ladder` compare: folders of captures, or those of a plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.cli.output import name_faults, progress
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from argparse import Namespace

    from dotloupe.compare import KnownSpread
    from dotloupe.measurement import Measurement
    from dotloupe.report import Circumstances
    from dotloupe.session import PlannedCapture, RunOptions


def measured_settings(
    places: Sequence[Path],
    options: RunOptions,
    *,
    quiet: bool,
    ladder: bool = False,
    at_least: int = 2,
) -> tuple[dict[str, tuple[Measurement, ...]], float]:
    """Measure folders of captures, or a plan's, and name those that gave nothing.

    Parameters
    ----------
    places : sequence of Path
    options : RunOptions
        A plan's viewing distance takes the place of theirs, its picture that of none.
    quiet : bool
        Show no progress.
    ladder : bool
        Whether sent ppi are compared, and not settings.
    at_least : int
        Settings that are needed: one where its own prints are compared.

    Returns
    -------
    measurements : dict of str to tuple of Measurement
        By setting.
    viewing_distance_mm : float

    Raises
    ------
    InputError
        A folder or a plan at fault, or one photograph in two settings.
    """
    from dotloupe.session import (
        compared_captures,
        measure_planned,
        measure_settings,
        plan_given,
        planned_captures,
        planned_options,
        refuse_duplicates,
        setting_paths,
    )

    if plan := plan_given(places):
        options = planned_options(plan, options)
        alone = at_least == 1
        planned = planned_captures(plan) if alone else compared_captures(plan, ladder=ladder)
        refuse_duplicates(by_setting(planned))
        with progress(len(planned), quiet) as advance:
            settings = measure_planned(planned, replace(options, progress=advance))
    else:
        paths = setting_paths(places, at_least=at_least)
        refuse_duplicates(paths)
        with progress(sum(map(len, paths.values())), quiet) as advance:
            settings = measure_settings(paths, replace(options, progress=advance))
    name_faults(flat(settings))
    return settings, options.viewing_distance_mm


def circumstances(given: Namespace) -> Circumstances:
    """Return title, note, and what a session file or the options name of printer and paper.

    Parameters
    ----------
    given : Namespace
        With title and note, and with places, printer, paper or mode where the command has them.
    """
    from dotloupe.report import Circumstances
    from dotloupe.session import plan_given

    named = {noun: getattr(given, noun, None) or "" for noun in ("printer", "paper", "mode")}
    if plan := plan_given(getattr(given, "places", ())):
        for noun in ("printer", "paper", "inks", "driver"):
            values = (getattr(run, noun) for run in plan.runs)
            named[noun] = ", ".join(dict.fromkeys(value for value in values if value))
        days = sorted(run.printed for run in plan.runs if run.printed)
        named["printed"] = " to ".join(dict.fromkeys(f"{day}" for day in (*days[:1], *days[-1:])))
    return Circumstances(given.title, given.note, {k: v for k, v in named.items() if v})


def flat(settings: Mapping[str, Iterable[Measurement]]) -> list[Measurement]:
    """Every measurement of every setting."""
    return [m for group in settings.values() for m in group]


def by_setting(planned: Sequence[PlannedCapture]) -> dict[str, list[Path]]:
    """Photographs of each setting of a plan."""
    settings: dict[str, list[Path]] = {}
    for capture in planned:
        settings.setdefault(capture.setting, []).append(capture.path)
    return settings


def known_spreads(given: Namespace) -> dict[str, KnownSpread] | None:
    """Spread of prints that the history given has of each number; None without a history.

    Parameters
    ----------
    given : Namespace
        With history, printer, paper and mode.

    Raises
    ------
    InputError
        Printer, paper or mode without a history, or a history that cannot be read.
    """
    names = {noun: getattr(given, noun) for noun in ("printer", "paper", "mode")}
    if given.history is not None:
        from dotloupe.compare.history import History

        return History(given.history).known_spreads(**names)
    if any(names.values()):
        raise InputError("--printer, --paper, --mode: they choose prints of --history; give it")
    return None
