"""The part of the command that judges captures before they are measured."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dotloupe.cli_output import INPUT_AT_FAULT, NONE_FIT, progress
from dotloupe.report.words import shown


def check(
    captures: Annotated[list[Path], typer.Argument(metavar="CAPTURE...", show_default=False)],
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, only the verdicts.")] = False,
) -> None:
    """Say of each photograph whether it is fit to be measured, and what to mend.

    Example: dotloupe check fast/*.jpg
    """
    from dotloupe.capture.reading import given_paths
    from dotloupe.checking import check_path

    paths = given_paths(captures)
    checked = []
    with progress(len(paths), quiet) as done:
        for path in paths:
            checked.append(check_path(path))
            done(path.name)
    for one in checked:
        typer.echo(f"{shown(one.path)}: {one.verdict}", err=one.fitness is None)
        for message in () if quiet else one.messages:
            typer.echo(f"  {message}", err=one.fitness is None)
    if not any(one.fitness is not None for one in checked):
        raise typer.Exit(INPUT_AT_FAULT)
    if not any(one.fitness is not None and one.fitness.fit for one in checked):
        raise typer.Exit(NONE_FIT)
    if any(one.verdict == "not fit" for one in checked):
        raise typer.Exit(INPUT_AT_FAULT)
