"""The captures that a session file names: which are compared, and their measurements."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from dotloupe.compare.effects import CostKind
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement, unread
from dotloupe.session.choices import Level
from dotloupe.session.measuring import measure_paths
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from dotloupe.session.session_file import Plan, PlannedCapture, Run


def plan_given(places: Sequence[Path]) -> Plan | None:
    """Return the plan where a session file is given in place of folders or captures.

    Raises
    ------
    InputError
        A session file beside anything else, or one at fault.
    """
    files = [place for place in places if place.suffix.lower() == ".toml"]
    if not files:
        return None
    if len(places) > 1:
        raise InputError(f"{files[0]}: a session file stands alone; give it and nothing else")
    from dotloupe.session.session_file import load_plan

    return load_plan(files[0])


def compared_captures(plan: Plan, *, ladder: bool = False) -> tuple[PlannedCapture, ...]:
    """Captures of a plan, to rank its settings or to climb its sent ppi.

    Raises
    ------
    InputError
        Photographs of one setting only; for a ladder, of more than one mode, paper or the like.
    """
    from dotloupe.session.session_file import planned_captures

    planned = planned_captures(plan)
    if len({c.setting for c in planned}) == 1:
        raise InputError(
            f"{plan.path}: only one setting has photographs; add captures of another to compare"
        )
    if ladder and (varied := _varied(planned, besides="ppi")):
        raise InputError(
            f"{plan.path}: a ladder climbs the ppi alone, these differ in {', '.join(varied)}; "
            "give each a session file of its own, or let dotloupe effects compare them"
        )
    return planned


def planned_levels(planned: Sequence[PlannedCapture]) -> dict[str, dict[str, Level]]:
    """Level of every factor, by setting; one that a run does not name is "not stated"."""
    from dotloupe.session.session_file import run_levels

    levels = run_levels([c.run for c in planned])
    return {c.setting: stated(each) for c, each in zip(planned, levels, strict=True)}


def stated(levels: Mapping[str, Level]) -> dict[str, Level]:
    """Return the levels of a run, those left out as "not stated"."""
    return {name: "not stated" if level == "" else level for name, level in levels.items()}


def planned_costs(planned: Sequence[PlannedCapture]) -> dict[str, dict[CostKind, float]]:
    """Mean cost of a print of each setting, of the runs that note it."""
    runs: dict[str, dict[int, Run]] = {}
    for c in planned:
        runs.setdefault(c.setting, {})[c.run.run] = c.run
    costs: dict[str, dict[CostKind, float]] = {}
    for setting, each in runs.items():
        for kind in CostKind:
            noted = [v for run in each.values() if (v := getattr(run, kind.value)) is not None]
            if noted:
                costs.setdefault(setting, {})[kind] = sum(noted) / len(noted)
    return costs


def _varied(planned: Sequence[PlannedCapture], *, besides: str) -> list[str]:
    """Factors that differ over the captures, but for one."""
    from dotloupe.session.session_file import run_levels

    levels = run_levels([c.run for c in planned])
    return [n for n in levels[0] if n != besides and len({each[n] for each in levels}) > 1]


def planned_options(plan: Plan, options: RunOptions) -> RunOptions:
    """Options of a run over a plan: its viewing distance, and its picture unless one is given."""
    return replace(
        options,
        viewing_distance_mm=plan.viewing_distance_mm,
        picture=options.picture or plan.picture_file,
    )


def measure_planned(
    planned: Sequence[PlannedCapture], options: RunOptions = DEFAULT_OPTIONS
) -> dict[str, tuple[Measurement, ...]]:
    """Measure the captures of a plan, by setting, each named after the print that the plan states.

    One whose own marks or code say that it shows another print is not fit.

    Parameters
    ----------
    planned : sequence of PlannedCapture
    options : RunOptions
    """
    settings: dict[str, list[Measurement]] = {}
    for capture, measured in measure_each_planned(planned, options):
        settings.setdefault(capture.setting, []).extend(measured)
    return {name: tuple(group) for name, group in settings.items()}


def measure_each_planned(
    planned: Sequence[PlannedCapture], options: RunOptions = DEFAULT_OPTIONS
) -> tuple[tuple[PlannedCapture, tuple[Measurement, ...]], ...]:
    """Measure the captures of a plan, and find its run among the patches of each file.

    Parameters
    ----------
    planned : sequence of PlannedCapture
    options : RunOptions
    """
    found: dict[str, list[Measurement]] = {}
    for m in measure_paths(list(dict.fromkeys(c.path for c in planned)), options):
        found.setdefault(m.path, []).append(m)
    return tuple((c, _of_run(c, found[str(c.path)])) for c in planned)


def _of_run(capture: PlannedCapture, shown: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Those patches of a file that show the capture's run, each a print."""
    if len(shown) == 1:
        return (_as_planned(capture, shown[0]),)
    mine = [m for m in shown if m.run == capture.run.run]
    if not mine:
        runs = "runs " + ", ".join(str(m.run) for m in shown)
        reason = f"it shows {runs} and not run {capture.run.run}; correct the session file"
        return (replace(unread(shown[0].path, reason), print_id=capture.print_id),)
    prints = [_as_planned(capture, m) for m in mine]
    if len(prints) == 1:
        return tuple(prints)
    return tuple(
        replace(m, print_id=f"{m.print_id} no. {n}") for n, m in enumerate(prints, start=1)
    )


def _as_planned(capture: PlannedCapture, m: Measurement) -> Measurement:
    from dotloupe.evaluate import fed_turned

    run = capture.run
    if m.run not in (None, run.run):
        reason = f"its marks say run {m.run}, the session file says run {run.run}; correct the file"
    elif m.sent_ppi is not None and m.sent_ppi != run.ppi:
        reason = f"its code says {m.sent_ppi:g} ppi, the session file {run.ppi}; correct the file"
    else:
        fed = fed_turned(m) if run.turned else m
        return replace(fed, print_id=capture.print_id, run=run.run, sent_ppi=float(run.ppi))
    return replace(unread(m.path, reason), print_id=capture.print_id)
