"""The part of the command that keeps a printer's history: parse, call, print."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.cli.output import progress
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.compare.history import History
    from dotloupe.measurement import Measurement
    from dotloupe.session import Plan

track = typer.Typer(
    help="Keep the history of a printer, and say when its head is due for alignment.",
    rich_markup_mode=None,
    invoke_without_command=True,
)

HistoryFile = Annotated[
    Path, typer.Option("--history", metavar="FILE", help="File of the history.")
]
HISTORY = Path("dotloupe_history.sqlite")
Printer = Annotated[str, typer.Option(metavar="NAME", help="Name of the printer.")]


@track.callback()
def choose(context: typer.Context) -> None:
    """Keep the history of a printer, and say when its head is due for alignment."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@track.command()
def add(
    captures: Annotated[
        list[Path], typer.Argument(metavar="CAPTURE|PLAN.toml", show_default=False)
    ],
    printer: Annotated[str, typer.Option(metavar="NAME", help="Name of the printer.")] = "",
    paper: Annotated[str, typer.Option(metavar="NAME", help="Name of the paper.")] = "",
    mode: Annotated[str, typer.Option(metavar="NAME", help="Name of the driver's mode.")] = "",
    printed_on: Annotated[
        str, typer.Option("--date", metavar="DAY", help="Day of printing, 2026-03-12.")
    ] = "",
    history: HistoryFile = HISTORY,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress.")] = False,
) -> None:
    """Measure captures and add them; adding one twice changes nothing.

    A session file names printer, paper, mode and day itself.

    Example: dotloupe track add march/*.jpg --printer desk --paper lustre --mode fast

    Example: dotloupe track add plan.toml
    """
    from dotloupe.compare.history import History
    from dotloupe.session import RunOptions, measure_paths, plan_given

    store = History(history)
    names = {"printer": printer, "paper": paper, "mode": mode}
    if plan := plan_given(captures):
        if any(names.values()) or printed_on:
            raise InputError(
                f"{plan.path}: it names printer, paper, mode and day; leave the options out"
            )
        new, count = _add_planned(store, plan, quiet=quiet)
    else:
        missing = [f"--{noun}" for noun, name in names.items() if not name.strip()]
        if missing:
            raise InputError(f"track add: give {', '.join(missing)}, or a session file PLAN.toml")
        with progress(len(captures), quiet) as told:
            measured = _readable(measure_paths(captures, RunOptions(progress=told)))
        day = printed_on or date.today().isoformat()  # noqa: DTZ011  the person's own day
        new, count = len(store.add(measured, **names, printed_on=day)), len(measured)
    typer.echo(f"{history}: {new} of {count} captures are new")


def _add_planned(store: History, plan: Plan, *, quiet: bool) -> tuple[int, int]:
    """Add a plan's captures, those of one mode and day together; how many are new, of how many."""
    from dotloupe.session import RunOptions, measure_planned, planned_captures

    planned = planned_captures(plan)
    undated = next((c.run for c in planned if c.run.printed is None), None)
    if undated is not None:
        message = f"run {undated.run} has no day of printing; add printed = 2026-03-12"
        raise plan.fault(("runs", plan.runs.index(undated)), message)
    distance = plan.viewing_distance_mm
    with progress(len(planned), quiet) as told:
        options = RunOptions(viewing_distance_mm=distance, progress=told)
        settings = measure_planned(planned, options)
    by_path = {m.path: m for m in _readable(m for group in settings.values() for m in group)}
    groups: dict[tuple[str, date], list[Measurement]] = {}
    for capture in planned:
        if capture.run.printed is not None:
            key = (capture.run.mode, capture.run.printed)
            groups.setdefault(key, []).append(by_path[str(capture.path)])
    added = [
        store.add(group, printer=plan.printer, paper=plan.paper, mode=mode, printed_on=day)
        for (mode, day), group in groups.items()
    ]
    return sum(map(len, added)), len(planned)


def _readable(measured: Iterable[Measurement]) -> list[Measurement]:
    found = list(measured)
    for m in found:
        if not m.sha256:
            raise InputError(f"{m.path}: {'; '.join(m.reasons)} (nothing was added)")
    return found


@track.command()
def event(
    kind: Annotated[str, typer.Argument(metavar="EVENT", help="alignment, move or service.")],
    printer: Printer,
    happened_on: Annotated[str, typer.Option("--date", metavar="DAY", help="The day, 2026-03-12.")],
    note: Annotated[str, typer.Option(metavar="TEXT", help="Anything to remember.")] = "",
    history: HistoryFile = HISTORY,
) -> None:
    """Note what was done to the printer.

    Example: dotloupe track event alignment --printer desk --date 2026-03-12
    """
    from dotloupe.compare.history import EVENT_KINDS, History

    known = {name: name for name in EVENT_KINDS}
    if kind not in known:
        raise InputError(f"event {kind}: choose {', '.join(EVENT_KINDS)}")
    History(history).add_event(known[kind], printer=printer, happened_on=happened_on, note=note)
    typer.echo(f"{history}: {kind} of {printer} on {happened_on}")


@track.command()
def show(
    number: Annotated[
        str, typer.Argument(metavar="NUMBER", help="The number to follow.")
    ] = "grain",
    printer: Annotated[str | None, typer.Option(metavar="NAME", help="Which printer.")] = None,
    mode: Annotated[str | None, typer.Option(metavar="NAME", help="Which mode.")] = None,
    paper: Annotated[str | None, typer.Option(metavar="NAME", help="Which paper.")] = None,
    out: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Folder of a report.")] = None,
    history: HistoryFile = HISTORY,
) -> None:
    """Follow one number over time, with advice.

    Example: dotloupe track show grain --mode fast --out report
    """
    from dotloupe.compare.history import History

    trend = History(history).track(number, printer=printer, mode=mode, paper=paper)
    for point in trend.points:
        typer.echo(f"{point.printed_on}  {point.value:#.4g} {trend.unit}")
    typer.echo(trend.advice)
    if out is not None:
        from dotloupe.report import write_report

        typer.echo(f"Report: {write_report(trend, out)}")


@track.command()
def export(
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Folder for CSV and JSON.")],
    history: HistoryFile = HISTORY,
) -> None:
    """Write everything as CSV and JSON.

    Example: dotloupe track export --out desk_history
    """
    from dotloupe.compare.history import History

    for path in History(history).export(out):
        typer.echo(str(path))
