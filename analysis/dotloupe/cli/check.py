"""The part of the command that judges captures before they are measured."""

from __future__ import annotations

from collections import Counter
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.cli.measuring_options import PictureFile, PrintWidth, run_options
from dotloupe.cli.output import INPUT_AT_FAULT, NONE_FIT, progress
from dotloupe.report.text import shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.session import Checked


def check(
    captures: Annotated[list[Path], typer.Argument(metavar="CAPTURE", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Draw how sharp each is over its patch, here."),
    ] = None,
    picture: PictureFile = None,
    print_width_mm: PrintWidth = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, only the verdicts.")] = False,
) -> None:
    """Say of each photograph whether it is fit to be measured, and what to mend.

    Example: dotloupe check fast/*.jpg

    Example: dotloupe check fast/*.jpg --out focus

    Example: dotloupe check close_ups --picture sent.tif --print-width-mm 300

    Of one's own picture (--picture) focus over the frame, even light and sharpening cannot be
    judged: that takes a patch.
    """
    from dotloupe.capture import given_paths
    from dotloupe.session import check_path, died, in_processes

    paths = given_paths(captures)
    options = run_options(picture, print_width_mm)
    if options.picture is not None:
        # a picture that cannot be read is no fault of the photographs
        options.picture.load()
    checked = []
    with progress(len(paths), quiet) as done:
        for one in in_processes(partial(check_path, options=options), paths, died):
            checked.append(one)
            done(Path(one.path).name)
    for one in checked:
        _say(one, quiet)
    if out is not None:
        for path in _focus_drawn(checked, out):
            if not quiet:
                typer.echo(f"Focus map: {shown(str(path))}")
    if not any(one.fitness is not None for one in checked):
        raise typer.Exit(INPUT_AT_FAULT)
    if not any(one.fitness is not None and one.fitness.fit for one in checked):
        raise typer.Exit(NONE_FIT)
    if any(one.verdict == "not fit" for one in checked):
        raise typer.Exit(INPUT_AT_FAULT)


def _say(one: Checked, quiet: bool) -> None:
    """Say the verdict, where it lies in one's own picture, and what is wrong."""
    typer.echo(f"{shown(one.path)}: {one.verdict}", err=one.fitness is None)
    for message in () if quiet else filter(None, (one.place, *one.messages)):
        typer.echo(f"  {message}", err=one.fitness is None)


def _focus_drawn(checked: list[Checked], folder: Path) -> Iterator[Path]:
    """Draw the focus maps of the captures that have one, and say where."""
    from dotloupe.report.plots import draw_focus, drawing, svg_text
    from dotloupe.storage import make_folder, write_bytes

    alike: Counter[str] = Counter()
    for one in checked:
        if one.fitness is None or one.fitness.focus is None:
            continue
        name = f"{Path(one.path).parent.name}_{Path(one.path).stem}_focus"
        alike[name] += 1
        path = folder / f"{name}{f'_{alike[name]}' if alike[name] > 1 else ''}.svg"
        with drawing(5.6, 4.2) as (figure, axis):
            draw_focus(one.fitness.focus, one.size_mm, axis)
            axis.set_title(f"{shown(Path(one.path).name)}: detail lost against its sharpest place")
            content = svg_text(figure)
        make_folder(folder)
        write_bytes(path, content.encode())
        yield path
