"""`dotloupe ladder`: how detail grows with the ppi sent."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace

from dotloupe.cli.output import check_places, exit_status, say_report, write_json
from dotloupe.cli.parser import Parser, add_measuring, add_places, add_report, number, run_options
from dotloupe.cli.settings import circumstances, flat, measured_settings
from dotloupe.cli.streams import say
from dotloupe.errors import InputError

DESCRIPTION = """\
Detail against the ppi sent.

Example: dotloupe ladder ppi300 ppi360 ppi600 --picture-ppi 500 --out report

With --picture, the folder's name gives the ppi sent, as ppi360.
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe ladder", DESCRIPTION)
    add_places(made, "FOLDER|PLAN.toml")
    made.add_argument(
        "--picture-ppi",
        type=number,
        metavar="R",
        help="Say what to send for a picture of R pixels per inch.",
    )
    made.add_argument(
        "--print-mm",
        metavar="WxH",
        default="",
        help="Size of that picture's print, as 300x200.",
    )
    add_report(made)
    add_measuring(made)
    return made


def run(given: Namespace) -> int:
    """Measure, compare, print and write; return the exit status."""
    from dotloupe.compare.ladder import ladder, recommend
    from dotloupe.report import ladder_json, ladder_model, recommendation_json, write_report
    from dotloupe.report.text import ladder_table, recommendation_sentence, wrapped
    from dotloupe.session import by_sent_ppi, plan_given, print_seconds, with_named_ppi

    size = _print_size(given.print_mm, given.picture_ppi)
    check_places(given.json_file, given.out)
    settings, distance_mm = measured_settings(
        given.places, run_options(given), quiet=given.quiet, ladder=True
    )
    settings = with_named_ppi(settings)
    result = ladder(by_sent_ppi(flat(settings)))
    result = replace(
        result,
        viewing_distance_mm=distance_mm,
        parameters={**result.parameters, "viewing_distance_mm": distance_mm},
    )
    advice = None
    if given.picture_ppi is not None:
        seconds = print_seconds(plan) if (plan := plan_given(given.places)) else None
        advice = recommend(result, given.picture_ppi, print_mm=size, seconds=seconds)
    if given.json_file != "-" and not given.quiet:
        say(ladder_table(ladder_model(result)))
    if given.json_file != "-" and advice is not None:
        say(f"\n{wrapped(recommendation_sentence(advice))}")
    further = {} if advice is None else {"recommendation": recommendation_json(advice)}
    write_json(given.json_file, {**ladder_json(result), **further})
    say_report(write_report(result, given.out, circumstances=circumstances(given)), given.json_file)
    return exit_status(flat(settings))


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
