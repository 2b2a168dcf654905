"""The part of the command that keeps a printer's history: parse, call, print."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from dotloupe.errors import InputError

track = typer.Typer(
    help="Keep the history of a printer, and say when its head is due for alignment.",
    rich_markup_mode=None,
    invoke_without_command=True,
)

HistoryFile = Annotated[Path, typer.Option("--history", help="File of the history.")]
HISTORY = Path("dotloupe_history.sqlite")
Printer = Annotated[str, typer.Option(help="Name of the printer.")]


@track.callback()
def choose(context: typer.Context) -> None:
    """Keep the history of a printer, and say when its head is due for alignment."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


@track.command()
def add(
    captures: Annotated[list[Path], typer.Argument(metavar="CAPTURE...", show_default=False)],
    printer: Printer,
    paper: Annotated[str, typer.Option(help="Name of the paper.")],
    mode: Annotated[str, typer.Option(help="Name of the driver's mode.")],
    printed_on: Annotated[str, typer.Option("--date", help="Day of printing, 2026-03-12.")] = "",
    history: HistoryFile = HISTORY,
) -> None:
    """Measure captures and add them; adding one twice changes nothing.

    Example: dotloupe track add march/*.jpg --printer desk --paper lustre --mode fast
    """
    from dotloupe.compare.history import History
    from dotloupe.session import measure_paths

    measured = [m for m in measure_paths(captures) if m.sha256]
    if len(measured) < len(captures):
        raise InputError("a capture cannot be read, nothing was added; dotloupe check names it")
    new = History(history).add(
        measured,
        printer=printer,
        paper=paper,
        mode=mode,
        printed_on=printed_on or date.today().isoformat(),  # noqa: DTZ011  the person's own day
    )
    typer.echo(f"{history}: {len(new)} of {len(captures)} captures are new")


@track.command()
def event(
    kind: Annotated[str, typer.Argument(help="alignment, move or service.")],
    printer: Printer,
    happened_on: Annotated[str, typer.Option("--date", help="The day, 2026-03-12.")],
    note: Annotated[str, typer.Option(help="Anything to remember.")] = "",
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
    number: Annotated[str, typer.Argument(help="The number to follow.")] = "grain",
    printer: Annotated[str | None, typer.Option(help="Which printer.")] = None,
    mode: Annotated[str | None, typer.Option(help="Which mode.")] = None,
    paper: Annotated[str | None, typer.Option(help="Which paper.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder of a report.")] = None,
    history: HistoryFile = HISTORY,
) -> None:
    """Follow one number over time, with advice.

    Example: dotloupe track show grain --mode fast --out report
    """
    from dotloupe.compare.history import History

    trend = History(history).track(number, printer=printer, mode=mode, paper=paper)
    for point in trend.points:
        typer.echo(f"{point.printed_on}  {point.value:.4g} {trend.unit}")
    typer.echo(trend.advice)
    if out is not None:
        from dotloupe.report.page import write_report

        typer.echo(f"Report: {write_report(trend, out)}")


@track.command()
def export(
    out: Annotated[Path, typer.Option(help="Folder for CSV and JSON.")],
    history: HistoryFile = HISTORY,
) -> None:
    """Write everything as CSV and JSON.

    Example: dotloupe track export --out desk_history
    """
    from dotloupe.compare.history import History

    for path in History(history).export(out):
        typer.echo(str(path))
