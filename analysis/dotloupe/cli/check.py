"""`dotloupe check`: is each photograph fit to be measured, and what to correct."""

from __future__ import annotations

from argparse import Namespace
from collections import Counter
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.cli.output import check_places, progress, write_json
from dotloupe.cli.parser import (
    Parser,
    add_blank,
    add_json,
    add_picture,
    add_places,
    add_quiet,
    run_options,
)
from dotloupe.cli.streams import DONE, INPUT_AT_FAULT, NONE_FIT, say

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.session import Checked

DESCRIPTION = """\
Say whether each photograph is fit to be measured, and what to correct.

Example: dotloupe check fast/*.jpg

Example: dotloupe check fast/*.jpg --out focus

Example: dotloupe check close_ups --picture sent.tif --print-width-mm 300

Of one's own picture (--picture) focus over the frame, even light and sharpening cannot be
judged: that takes a patch.
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe check", DESCRIPTION)
    add_places(made, "CAPTURE")
    made.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER",
        help="Folder for maps of sharpness over each patch.",
    )
    add_json(made)
    add_picture(made)
    add_blank(made)
    add_quiet(made, "No progress, and one line for each capture.")
    return made


def run(given: Namespace) -> int:
    """Examine the captures and print the verdicts; return the exit status."""
    from dotloupe.capture import given_paths
    from dotloupe.processes import in_processes
    from dotloupe.report.text import shown
    from dotloupe.session import (
        check_file,
        check_together,
        died,
        read_in_results,
        with_exposures,
    )

    check_places(given.json_file)
    paths = given_paths(given.places)
    options = with_exposures(paths, run_options(given))
    if options.picture is not None:
        # a picture that cannot be read is no fault of the photographs
        options.picture.load()
    checked: list[Checked] = []
    with progress(len(paths), given.quiet) as advance:
        for shown_in_one in in_processes(
            partial(check_file, options=options), paths, died, meanwhile=read_in_results
        ):
            checked.extend(shown_in_one)
            advance(Path(shown_in_one[0].path).name)
    checked = check_together(checked)
    several = {path for path, count in Counter(one.path for one in checked).items() if count > 1}
    write_json(given.json_file, [one.to_dict() for one in checked])
    for one in checked if given.json_file != "-" else ():
        _say_verdict(one, given.quiet, with_run=one.path in several)
    if given.out is not None:
        for path in _focus_drawn(checked, given.out):
            if not given.quiet and given.json_file != "-":
                say(f"Focus map: {shown(str(path))}")
    return _status(checked)


def _status(checked: list[Checked]) -> int:
    if not any(one.fitness is not None for one in checked):
        return INPUT_AT_FAULT
    if not any(one.fitness is not None and one.fitness.fit for one in checked):
        return NONE_FIT
    return INPUT_AT_FAULT if any(one.verdict == "not fit" for one in checked) else DONE


def _say_verdict(one: Checked, quiet: bool, *, with_run: bool) -> None:
    """Say the verdict and what is wrong, in one line where quiet."""
    from dotloupe.report.text import shown

    of_run = f", run {one.run}" if with_run else ""
    head = f"{one.verdict} whether it is fit" if one.verdict == "cannot tell" else one.verdict
    verdict = "; ".join((head, *one.messages)) if quiet else head
    say(f"{shown(one.path)}{of_run}: {verdict}", error=one.fitness is None)
    for message in () if quiet else filter(None, (one.place, *one.messages)):
        say(f"  {message}", error=one.fitness is None)


def _focus_drawn(checked: list[Checked], folder: Path) -> Iterator[Path]:
    """Draw the focus maps of the captures that have one, and say where."""
    from dotloupe.report.plots import draw_focus, drawing, svg_text
    from dotloupe.report.text import shown
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
