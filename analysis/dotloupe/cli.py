"""The command: parse, call, print."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dotloupe.cli_track import track
from dotloupe.errors import DotloupeError, InputError, NotFitError

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement

DONE, INPUT_AT_FAULT, NONE_FIT, INTERRUPTED = 0, 2, 3, 130
REPORT_FOLDER = Path("dotloupe_report")

app = typer.Typer(
    name="dotloupe",
    help="Measure how much detail a photo printer puts on paper.",
    no_args_is_help=False,
    invoke_without_command=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

app.add_typer(track, name="track")

Captures = Annotated[list[Path], typer.Argument(metavar="CAPTURE...", show_default=False)]
Folders = Annotated[list[Path], typer.Argument(metavar="FOLDER...", show_default=False)]
JsonFile = Annotated[
    str | None,
    typer.Option("--json", metavar="FILE", help="Write the numbers here; - prints them."),
]
ReportFolder = Annotated[Path, typer.Option("--out", help="Folder of the report.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No progress, no tables.")]

WELCOME = """\
dotloupe measures how much detail a photo printer puts on paper.

  1  dotloupe sheet --ppi 600 --run 1 --label "fast mode" --out run1.tif
     Print run1.tif at 100 %, photograph it close up, put the photographs in a folder
     named after the setting. Do the same for each setting, each with its own run number.
  2  dotloupe check fast/*.jpg
     Is each photograph fit to be measured?
  3  dotloupe rank fast fine
     Which setting holds more detail, and less grain?

dotloupe --help lists every command, dotloupe COMMAND --help explains one.
"""


@app.callback()
def welcome(context: typer.Context) -> None:
    """Measure how much detail a photo printer puts on paper."""
    if context.invoked_subcommand is None:
        typer.echo(WELCOME, nl=False)


@app.command()
def sheet(
    ppi: Annotated[int, typer.Option(help="Pixels per inch of the file to send, 150 to 1500.")],
    out: Annotated[Path, typer.Option(help="TIFF to write.", metavar="FILE.tif")],
    run: Annotated[int, typer.Option(help="Number that the marks carry, 0 to 249.")] = 0,
    label: Annotated[str, typer.Option(help="Words printed on the patch.")] = "",
    kind: Annotated[str, typer.Option(help="detail or tints.")] = "detail",
) -> None:
    """Write a patch to print.

    Example: dotloupe sheet --ppi 600 --run 7 --out run7.tif
    """
    from dotloupe.patch.patch import Patch

    if kind not in ("detail", "tints"):
        raise InputError(f"--kind {kind}: choose detail or tints")
    patch = Patch(ppi, run, label, "detail" if kind == "detail" else "tints")
    path = patch.save(out)
    width, height = patch.size_mm
    typer.echo(f"{path}: {width:g} x {height:g} mm at {ppi} ppi; print it at 100 %, unscaled")


@app.command()
def measure(captures: Captures, json_file: JsonFile = None, quiet: Quiet = False) -> None:
    """Measure photographs of patches.

    Example: dotloupe measure fast/*.jpg --json fast.json
    """
    from dotloupe.capture.reading import capture_paths
    from dotloupe.report.table import measurement_table
    from dotloupe.session import measure_paths

    paths = [p for c in captures for p in (capture_paths(c) if c.is_dir() else [c])]
    with _progress(len(paths), quiet) as progress:
        measurements = list(measure_paths(paths, progress=progress))
    _name_faults(measurements)
    if json_file != "-" and not quiet:
        for measurement in filter(lambda m: m.fit, measurements):
            typer.echo(measurement_table(measurement))
    _write_json(json_file, [m.to_dict() for m in measurements])
    _end(measurements)


@app.command()
def rank(
    folders: Folders,
    out: ReportFolder = REPORT_FOLDER,
    json_file: JsonFile = None,
    quiet: Quiet = False,
) -> None:
    """Rank settings, a folder of captures each.

    Example: dotloupe rank fast fine --out report
    """
    from dotloupe.compare.rank import rank as rank_settings
    from dotloupe.report.page import write_report
    from dotloupe.report.table import ranking_table

    settings = _measured(folders, quiet)
    ranking = rank_settings(settings)
    if json_file != "-" and not quiet:
        typer.echo(ranking_table(ranking))
    _write_json(json_file, ranking.to_dict())
    _say_report(write_report(ranking, out), json_file)
    _end(_all(settings))


@app.command()
def ladder(
    folders: Folders,
    out: ReportFolder = REPORT_FOLDER,
    json_file: JsonFile = None,
    quiet: Quiet = False,
) -> None:
    """Detail against the ppi sent.

    Example: dotloupe ladder ppi300 ppi360 ppi600 --out report
    """
    from dotloupe.compare.ladder import ladder as climb
    from dotloupe.report.page import write_report
    from dotloupe.report.table import ladder_table
    from dotloupe.session import by_sent_ppi

    measurements = _all(_measured(folders, quiet))
    result = climb(by_sent_ppi(measurements))
    if json_file != "-" and not quiet:
        typer.echo(ladder_table(result))
    _write_json(json_file, result.to_dict())
    _say_report(write_report(result, out), json_file)
    _end(measurements)


@app.command()
def simulate(
    out: Annotated[Path, typer.Option(help="TIFF, PNG or JPEG to write.", metavar="FILE")],
    ppi: Annotated[int, typer.Option(help="Pixels per inch sent.")] = 600,
    run: Annotated[int, typer.Option(help="Number that the marks carry.")] = 0,
    mode: Annotated[str, typer.Option(help="fast or fine.")] = "fast",
    misaligned: Annotated[bool, typer.Option(help="A head out of alignment.")] = False,
    seed: Annotated[int, typer.Option(help="Chance of this print and this photograph.")] = 0,
) -> None:
    """Invent a capture: a simulated print of a patch, photographed by a simulated camera.

    Example: dotloupe simulate --mode fine --ppi 720 --run 3 --seed 1 --out fine3.jpg
    """
    from dotloupe import simulate as invented
    from dotloupe.patch.patch import Patch

    modes = {"fast": invented.FAST, "fine": invented.FINE}
    if mode not in modes:
        raise InputError(f"--mode {mode}: choose fast or fine")
    alignment = invented.MISALIGNED if misaligned else invented.ALIGNED
    drawing = Patch(ppi, run, f"simulated, {mode}").draw()
    printed = invented.print_picture(drawing, ppi, mode=modes[mode], alignment=alignment, seed=seed)
    picture = invented.photograph(printed, shot=invented.Shot(seed=seed))
    typer.echo(f"{invented.write_capture(out, picture)}: simulated, not a photograph")


def _measured(folders: Sequence[Path], quiet: bool) -> dict[str, tuple[Measurement, ...]]:
    """Measure the captures of setting folders, and name those that gave nothing."""
    from dotloupe.session import measure_settings, setting_paths

    paths = setting_paths(folders)
    with _progress(sum(map(len, paths.values())), quiet) as progress:
        settings = measure_settings(paths, progress=progress)
    _name_faults(_all(settings))
    return settings


def _all(settings: Mapping[str, Sequence[Measurement]]) -> list[Measurement]:
    return [m for group in settings.values() for m in group]


@contextmanager
def _progress(total: int, quiet: bool) -> Iterator[Any]:
    """Progress with the time left, on standard error, where a person looks on."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    console = Console(stderr=True)
    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), "{task.description}")
    shown = console.is_terminal and not quiet
    with Progress(*columns, console=console, transient=True, disable=not shown) as bar:
        task = bar.add_task("measuring", total=total)
        yield lambda name: bar.update(task, advance=1, description=name)


def _write_json(target: str | None, content: Any) -> None:
    if target is None:
        return
    text = json.dumps(content, indent=2, allow_nan=False, ensure_ascii=False)
    if target == "-":
        typer.echo(text)
        return
    try:
        Path(target).write_text(text + "\n", encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{target}: cannot be written ({error.strerror}); choose another"
        ) from error


def _say_report(path: Path, json_file: str | None) -> None:
    typer.echo(f"Report: {path}", err=json_file == "-")


def _name_faults(measurements: Sequence[Measurement]) -> None:
    """One line on standard error for every capture that gave no numbers."""
    for m in measurements:
        if not m.fit:
            typer.echo(f"dotloupe: {m.path}: {'; '.join(m.reasons)}", err=True)


def _end(measurements: Sequence[Measurement]) -> None:
    """End with the status that says whether every capture gave numbers, some, or none."""
    if all(m.fit for m in measurements):
        return
    readable = [m for m in measurements if m.sha256]
    none_fit = readable and not any(m.fit for m in readable)
    raise typer.Exit(NONE_FIT if none_fit else INPUT_AT_FAULT)


def main() -> None:
    """Run the command; every error is one line on standard error."""
    try:
        status = app(standalone_mode=False)
    except NotFitError as error:
        status = _failed(str(error), NONE_FIT)
    except DotloupeError as error:
        status = _failed(str(error), INPUT_AT_FAULT)
    except typer.TyperException as error:
        status = _failed(f"{error.format_message()} (dotloupe --help)", INPUT_AT_FAULT)
    except (KeyboardInterrupt, typer.Abort):
        status = _failed("interrupted", INTERRUPTED)
    sys.exit(status if isinstance(status, int) else DONE)


def _failed(message: str, status: int) -> int:
    typer.echo(f"dotloupe: {' '.join(message.split())}", err=True)
    return status
