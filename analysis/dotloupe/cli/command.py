"""The command: parse, call, print."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.cli.check import check
from dotloupe.cli.help import PlainHelp
from dotloupe.cli.measuring_options import PictureFile, PrintWidth, run_options
from dotloupe.cli.open_folder import open_folder
from dotloupe.cli.output import (
    INPUT_AT_FAULT,
    NONE_FIT,
    check_places,
    end,
    name_faults,
    prepare_streams,
    progress,
    say_fault,
    say_report,
    system_fault,
    write_json,
)
from dotloupe.cli.sheet import sheet
from dotloupe.cli.simulate import simulate
from dotloupe.cli.track import track
from dotloupe.cli.usage_errors import usage_line
from dotloupe.errors import DotloupeError, InputError, NotFitError
from dotloupe.session import TERMINATED, end_when_terminated

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement
    from dotloupe.session import PlannedCapture, RunOptions

DONE, INTERRUPTED = 0, 130
REPORT_FOLDER = Path("dotloupe_report")

app = typer.Typer(
    name="dotloupe",
    help="Measure how much detail a photo printer puts on paper.",
    no_args_is_help=False,
    invoke_without_command=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

app.add_typer(track, name="track", short_help="Keep a printer's history, with advice.")

Captures = Annotated[list[Path], typer.Argument(metavar="CAPTURE|PLAN.toml", show_default=False)]
Folders = Annotated[list[Path], typer.Argument(metavar="FOLDER|PLAN.toml", show_default=False)]
JsonFile = Annotated[
    str | None,
    typer.Option("--json", metavar="FILE", help="Write the numbers here; - prints them."),
]
ReportFolder = Annotated[
    Path, typer.Option("--out", metavar="FOLDER", help="Folder of the report.")
]
CameraFile = Annotated[
    Path | None,
    typer.Option(
        "--camera",
        metavar="FILE",
        help="Photograph of a reference edge in the same set-up, whose camera is taken out; its "
        "scale is that of the prints' own marks.",
        show_default=False,
    ),
]
Quiet = Annotated[bool, typer.Option("--quiet", help="No progress, no tables.")]
Cluster = Annotated[
    str | None,
    typer.Option(metavar="ADDRESS", help="Measure on the Dask cluster of this scheduler."),
]

WELCOME = """\
dotloupe measures how much detail a photo printer puts on paper.

  1  dotloupe sheet --ppi 600 --run 1 --label "fast mode" --out run1.tif
     Print run1.tif at 100 %, photograph it close up, put the photographs in a folder
     named after the setting. Do the same for each setting, each with its own run number.
  2  dotloupe check fast/*.jpg
     Is each photograph fit to be measured?
  3  dotloupe rank fast fine
     Which setting holds more detail, and less grain?

Or do 2 and 3 in the browser:  dotloupe open FOLDER

dotloupe --help lists every command, dotloupe COMMAND --help explains one.
"""


@app.callback()
def welcome(context: typer.Context) -> None:
    """Measure how much detail a photo printer puts on paper."""
    if context.invoked_subcommand is None:
        typer.echo(WELCOME, nl=False)


app.command(short_help="Write a patch to print.")(sheet)
app.command(short_help="Is each photograph fit to be measured?")(check)
app.command("open", short_help="Drop, check, assign and compare in the browser.")(open_folder)


@app.command(short_help="Print every number of single photographs.")
def measure(
    captures: Captures,
    picture: PictureFile = None,
    print_width_mm: PrintWidth = None,
    camera: CameraFile = None,
    json_file: JsonFile = None,
    cluster: Cluster = None,
    quiet: Quiet = False,
) -> None:
    """Measure photographs of patches, or of one's own picture.

    Example: dotloupe measure fast/*.jpg --json fast.json

    Example: dotloupe measure close_ups --picture sent.tif --print-width-mm 300
    """
    from dotloupe.capture import given_paths
    from dotloupe.report.text import measurement_table
    from dotloupe.session import (
        measure_paths,
        measure_planned,
        plan_given,
        planned_captures,
    )

    check_places(json_file)
    options = run_options(picture, print_width_mm, camera, cluster)
    if plan := plan_given(captures):
        planned = planned_captures(plan)
        options = replace(options, viewing_distance_mm=plan.viewing_distance_mm)
        with progress(len(planned), quiet) as told:
            measurements = _all(measure_planned(planned, replace(options, progress=told)))
    else:
        paths = given_paths(captures)
        with progress(len(paths), quiet) as told:
            found = measure_paths(paths, replace(options, progress=told))
            measurements = [m.bare() for m in found]
    name_faults(measurements)
    if json_file != "-" and not quiet:
        for measurement in filter(lambda m: m.fit, measurements):
            typer.echo(measurement_table(measurement))
    write_json(json_file, [m.to_dict() for m in measurements])
    end(measurements)


@app.command(short_help="Which setting prints better?")
def rank(
    folders: Folders,
    picture: PictureFile = None,
    print_width_mm: PrintWidth = None,
    camera: CameraFile = None,
    out: ReportFolder = REPORT_FOLDER,
    json_file: JsonFile = None,
    cluster: Cluster = None,
    quiet: Quiet = False,
) -> None:
    """Rank settings, a folder of captures each, or those of a session file.

    Example: dotloupe rank fast fine --out report

    Example: dotloupe rank fast fine --picture sent.tif --print-width-mm 300
    """
    from dotloupe.compare.ranking import rank as rank_settings
    from dotloupe.report import ranking_json, write_report
    from dotloupe.report.text import differences_lines, ranking_table, wrapped

    check_places(json_file, out)
    options = run_options(picture, print_width_mm, camera, cluster)
    settings, distance = _measured(folders, options, quiet=quiet)
    ranking = rank_settings(settings, viewing_distance_mm=distance)
    if json_file != "-" and not quiet:
        typer.echo(ranking_table(ranking))
        if len(ranking.settings) == 2:
            lines = (wrapped(line, "  ") for line in differences_lines(ranking))
            typer.echo("\n" + "\n".join(lines) + "\n")
    write_json(json_file, ranking_json(ranking))
    say_report(write_report(ranking, out), json_file)
    end(_all(settings))


@app.command(short_help="How detail grows with the ppi sent.")
def ladder(
    folders: Folders,
    picture_ppi: Annotated[
        float | None,
        typer.Option(metavar="R", help="Say what to send for a picture of R pixels per inch."),
    ] = None,
    print_mm: Annotated[
        str, typer.Option(metavar="WxH", help="Size of that picture's print, as 300x200.")
    ] = "",
    picture: PictureFile = None,
    print_width_mm: PrintWidth = None,
    camera: CameraFile = None,
    out: ReportFolder = REPORT_FOLDER,
    json_file: JsonFile = None,
    cluster: Cluster = None,
    quiet: Quiet = False,
) -> None:
    """Detail against the ppi sent.

    Example: dotloupe ladder ppi300 ppi360 ppi600 --picture-ppi 500 --out report

    Photographs of one's own picture (--picture) say how it was sent by their folder's name.
    """
    from dotloupe.compare.ladder import ladder as climb
    from dotloupe.compare.ladder import recommend
    from dotloupe.report import write_report
    from dotloupe.report.text import ladder_table, wrapped
    from dotloupe.session import by_sent_ppi, plan_given, print_seconds, with_named_ppi

    size = _print_size(print_mm, picture_ppi)
    check_places(json_file, out)
    options = run_options(picture, print_width_mm, camera, cluster)
    settings, distance = _measured(folders, options, quiet=quiet, ladder=True)
    settings = with_named_ppi(settings)
    result = climb(by_sent_ppi(_all(settings)))
    result = replace(result, parameters={**result.parameters, "viewing_distance_mm": distance})
    advice = None
    if picture_ppi is not None:
        seconds = print_seconds(plan) if (plan := plan_given(folders)) else None
        advice = recommend(result, picture_ppi, print_mm=size, seconds=seconds)
    if json_file != "-" and not quiet:
        typer.echo(ladder_table(result))
    if json_file != "-" and advice is not None:
        typer.echo(f"\n{wrapped(advice.sentence)}")
    further = {} if advice is None else {"recommendation": advice.to_dict()}
    write_json(json_file, {**result.to_dict(), **further})
    say_report(write_report(result, out), json_file)
    end(_all(settings))


@app.command(short_help="Measure again what was published.")
def remeasure(
    published: Annotated[Path, typer.Argument(metavar="PUBLISHED.json", show_default=False)],
    quiet: Quiet = False,
) -> None:
    """Measure again what was published, and list every number that moved beyond its interval.

    Example: dotloupe remeasure report.json
    """
    from dotloupe.session import load_published
    from dotloupe.session import remeasure as measure_again
    from dotloupe.storage import program_version

    found = load_published(published)
    with progress(len(found.captures), quiet) as told:
        moved, measurements = measure_again(found, progress=told)
    name_faults(measurements)
    for correction in moved:
        typer.echo(correction.line)
    count = "nothing" if not moved else f"{len(moved)} thing{'s' * (len(moved) > 1)}"
    then, now = found.result.get("version", "an unknown version"), program_version()
    typer.echo(
        f"{published}: {count} to correct; {len(measurements)} captures, "
        f"published with {then}, measured again with {now}"
    )
    end(measurements)


app.command(short_help="Invent a capture, to try things without a printer.")(simulate)

for registered in (*app.registered_commands, *track.registered_commands):
    registered.cls = PlainHelp


def _print_size(text: str, picture_ppi: float | None) -> tuple[float, float] | None:
    """Width and height in mm from words like 300x200."""
    if not text:
        return None
    if picture_ppi is None:
        raise InputError("--print-mm: give --picture-ppi with it")
    try:
        width, height = (float(side) for side in text.lower().split("x"))
    except ValueError as error:
        raise InputError(f"--print-mm {text}: write width and height as 300x200") from error
    return width, height


def _measured(
    places: Sequence[Path],
    options: RunOptions,
    *,
    quiet: bool,
    ladder: bool = False,
) -> tuple[dict[str, tuple[Measurement, ...]], float]:
    """Measure folders of captures, or a plan's, and name those that gave nothing.

    Returns the measurements by setting, and the viewing distance in mm.
    """
    from dotloupe.session import (
        compared_captures,
        measure_planned,
        measure_settings,
        plan_given,
        refuse_twins,
        setting_paths,
    )

    if plan := plan_given(places):
        options = replace(options, viewing_distance_mm=plan.viewing_distance_mm)
        planned = compared_captures(plan, ladder=ladder)
        refuse_twins(_by_setting(planned))
        with progress(len(planned), quiet) as told:
            settings = measure_planned(planned, replace(options, progress=told))
    else:
        paths = setting_paths(places)
        refuse_twins(paths)
        with progress(sum(map(len, paths.values())), quiet) as told:
            settings = measure_settings(paths, replace(options, progress=told))
    name_faults(_all(settings))
    return settings, options.viewing_distance_mm


def _by_setting(planned: Sequence[PlannedCapture]) -> dict[str, list[Path]]:
    settings: dict[str, list[Path]] = {}
    for capture in planned:
        settings.setdefault(capture.setting, []).append(capture.path)
    return settings


def _all(settings: Mapping[str, Sequence[Measurement]]) -> list[Measurement]:
    return [m for group in settings.values() for m in group]


def main() -> None:
    """Run the command; every error is one line on standard error."""
    prepare_streams()
    end_when_terminated()
    try:
        status = app(standalone_mode=False)
        sys.stdout.flush()
        if status == INTERRUPTED:
            raise KeyboardInterrupt
    except NotFitError as error:
        status = _failed(str(error), NONE_FIT)
    except DotloupeError as error:
        status = _failed(str(error), INPUT_AT_FAULT)
    except typer.TyperException as error:
        status = _failed(usage_line(error, sys.argv[1:]), INPUT_AT_FAULT)
    except (KeyboardInterrupt, typer.Abort):
        status = _failed("interrupted; nothing was left half done", INTERRUPTED)
    except SystemExit as ended:
        if ended.code != TERMINATED:
            raise
        status = _failed("ended from outside; nothing was left half done", TERMINATED)
    except BrokenPipeError:  # whoever read the output has seen enough
        status = _output_closed(DONE)
    except (OSError, MemoryError) as error:
        status = _failed(system_fault(error), INPUT_AT_FAULT)
        _output_closed(status)
    sys.exit(status if isinstance(status, int) else DONE)


def _failed(message: str, status: int) -> int:
    say_fault(message)
    return status


def _output_closed(status: int) -> int:
    """Let what is still to be written go nowhere: writing it would fail once more."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return status
