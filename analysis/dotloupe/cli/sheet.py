"""`dotloupe sheet`: patches to print."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.cli.parser import Parser, add_names, whole_number
from dotloupe.cli.preparing import add_preparing, preparing
from dotloupe.cli.settings import known_spreads
from dotloupe.cli.sheet_pages import Drawn, is_page, write_pages
from dotloupe.cli.streams import DONE, say
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from dotloupe.capture import SentPicture
    from dotloupe.patch import Patch, PatchKind
    from dotloupe.prepare import Version
    from dotloupe.session import Plan, Run

DESCRIPTION = """\
Write a patch to print, the sheets of a session file, each run's patch in its own slot, or pages
of several patches.

Example: dotloupe sheet --ppi 600 --run 7 --out run7.tif

Example: dotloupe sheet plan.toml --out sheets

Example: dotloupe sheet plan.toml --page A4 --out page.pdf

Example: dotloupe sheet --picture photo.tif --print-width-mm 300 --frame-mm 120,60 --ppi 600
         --run 8 --out run8.tif

The last one frames a part of your own picture with the marks of a patch. Measure its photographs
with the same --picture and --print-width-mm.
"""

OF_A_PICTURE = ("picture", "print_width_mm", "frame_mm", "resize", "sharpen_for", "setting")
"""Options that go with a framed picture alone."""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe sheet", DESCRIPTION)
    made.add_argument("plan", nargs="?", type=Path, metavar="PLAN.toml")
    made.add_argument(
        "--out",
        type=Path,
        metavar="FILE",
        required=True,
        help="TIFF to write, a plan's folder of them, or a page as PDF or PNG.",
    )
    made.add_argument(
        "--page",
        metavar="SIZE",
        help="Paper of a page: A4, letter, 10x15cm and others, or its mm as 210x297 (default: A4).",
    )
    made.add_argument(
        "--ppi",
        type=whole_number(),
        metavar="N",
        help="Pixels per inch of the file to send, 150 to 1500.",
    )
    made.add_argument(
        "--run",
        type=whole_number(),
        metavar="K",
        help="Number that the marks carry, 0 to 249 (default: 0).",
    )
    made.add_argument("--label", metavar="TEXT", default="", help="Text printed on the patch.")
    made.add_argument(
        "--seed",
        type=whole_number(0),
        metavar="N",
        default=0,
        help="Seed of a plan's random order of printing; the same seed gives the same order.",
    )
    made.add_argument(
        "--history",
        type=Path,
        metavar="FILE",
        help="History of the printer; its repeats tell how many prints a plan needs.",
    )
    add_names(made)
    made.add_argument("--kind", metavar="KIND", default="detail", help="detail, tints or contrast.")
    made.add_argument(
        "--picture", type=Path, metavar="FILE", help="Frame a part of this picture with marks."
    )
    made.add_argument(
        "--frame-mm",
        metavar="X,Y",
        help="Upper left corner of the part in that print, in whole mm.",
    )
    add_preparing(made)
    return made


def run(given: Namespace) -> int:
    """Write the patch or the plan's sheets; return the exit status."""
    from dotloupe.patch import Patch

    if given.kind not in ("detail", "tints", "contrast"):
        raise InputError(f"--kind {given.kind}: choose detail, tints or contrast")
    kind: PatchKind = given.kind
    if given.plan is not None:
        if given.ppi is not None or given.run is not None or given.label:
            raise InputError(f"{given.plan}: it names ppi, run and label; leave the options out")
        if any(getattr(given, option) is not None for option in OF_A_PICTURE):
            raise InputError(
                f"{given.plan}: a session file names its picture itself; leave the options out"
            )
        _write_plan(given, kind)
        _say_design(given)
        return DONE
    if given.ppi is None:
        raise InputError("sheet: give --ppi, or a session file PLAN.toml")
    if given.picture is not None:
        return _write_frame(given)
    for option in OF_A_PICTURE:
        if getattr(given, option) is not None:
            raise InputError(f"--{option.replace('_', '-')}: give the picture too, --picture")
    patch = Patch(given.ppi, given.run or 0, given.label, kind)
    if is_page(given):
        write_pages(given, [Drawn(patch, patch.draw())])
        return DONE
    path = patch.save(given.out)
    width, height = patch.size_mm
    say(f"{path}: {width:g} x {height:g} mm at {given.ppi} ppi; print it at 100 %, unscaled")
    _say_label(patch)
    return DONE


def _write_frame(given: Namespace) -> int:
    """Write a part of a picture in its frame of marks."""
    from dotloupe.patch import Patch
    from dotloupe.prepare import check_suffix, draw_frame, profile_of, save_frame

    if given.frame_mm is None:
        raise InputError("--picture: give --frame-mm X,Y with it")
    corner_mm = _corner(given.frame_mm)
    patch = Patch(given.ppi, given.run or 0, given.label, "picture", corner_mm)
    use = preparing(given)
    if is_page(given):
        drawing = draw_frame(use.picture, patch, resize=use.resize, response=use.response)
        write_pages(given, [Drawn(patch, drawing, profile_of(use.picture)[0])])
    else:
        check_suffix(given.out, 8 * use.picture.pixels.dtype.itemsize)
        save_frame(given.out, use.picture, patch, resize=use.resize, response=use.response)
        _say_frame(given, patch)
    _say_content(use.picture, patch)
    _say_label(patch)
    return DONE


def _say_frame(given: Namespace, patch: Patch) -> None:
    region, corner_mm = patch.regions["picture"], patch.corner_mm
    say(
        f"{given.out}: {region.width_mm:g} x {region.height_mm:g} mm of {given.picture} from "
        f"{corner_mm[0]},{corner_mm[1]} mm, in marks, at {given.ppi} ppi; print it at 100 %, "
        "unscaled"
    )


def _say_content(picture: SentPicture, patch: Patch) -> None:
    """Say where a framed part tells too little, or its profile is assumed, before it is printed."""
    from dotloupe.prepare import framed_content, profile_of, richer_parts
    from dotloupe.report.text import content_lines

    content = framed_content(picture, patch)
    richer = () if content.enough else richer_parts(picture, patch)
    for line in content_lines(content, richer):
        say(line, error=True)
    if profile_of(picture)[1]:
        say("The picture has no usable colour profile; sRGB was assumed and embedded.", error=True)


def _corner(text: str) -> tuple[int, int]:
    """Whole mm from words like 120,60."""
    try:
        across, down = (int(part) for part in text.split(","))
    except ValueError:
        raise InputError(f"--frame-mm {text}: write whole millimetres as 120,60") from None
    return across, down


def _say_label(patch: Patch) -> None:
    """Say where a label is not printed as it was given, before paper is spent on it."""
    printed = patch.printed_label
    if printed != patch.label:
        say(
            f"run {patch.run}: the label is printed as {printed!r}, shortened to its line and to "
            "letters of Latin, Greek and Cyrillic script; give another if that does not do",
            error=True,
        )


def _label(run: Run) -> str:
    """Label that the plan gives, or else the setting in its words."""
    return run.label or ", ".join(filter(None, (run.mode, run.alignment)))


def _write_plan(given: Namespace, kind: PatchKind) -> None:
    """Write the pages of a plan, or a sheet for each run."""
    from dotloupe.session import load_plan

    plan = load_plan(given.plan)
    if not is_page(given):
        _write_sheets(plan, given.out, kind)
        return
    drawn = tuple(_drawn_runs(plan, kind))
    sheet = plan.sheet
    write_pages(given, drawn, None if sheet is None else (sheet.width_mm, sheet.height_mm))
    for one in drawn:
        _say_label(one.patch)


def _write_sheets(plan: Plan, folder: Path, kind: PatchKind) -> None:
    """Write one sheet a run, and say what to do with them."""
    from dotloupe.patch import Patch, save_on_sheet, slots_mm
    from dotloupe.storage import make_folder

    if plan.sheet is None:
        raise InputError(
            f"{plan.path}: no size of the sheet; add [sheet] with width_mm and height_mm"
        )
    size = (plan.sheet.width_mm, plan.sheet.height_mm)
    corners = slots_mm(size, Patch(plan.runs[0].ppi).size_mm, len(plan.runs))
    make_folder(folder)
    for one, corner in zip(_drawn_runs(plan, kind), corners, strict=True):
        ppi = one.patch.sent_ppi
        path = folder / f"run{one.patch.run}_{ppi}ppi.tif"
        save_on_sheet(one.drawing, ppi, path, sheet_mm=size, corner_mm=corner, profile=one.profile)
        say(str(path))
        _say_label(one.patch)
    say(
        f"{size[0]:g} x {size[1]:g} mm each: print them at 100 %, unscaled, on one sheet fed "
        "again for each run; every patch has a slot of its own"
    )


def _drawn_runs(plan: Plan, kind: PatchKind) -> Iterator[Drawn]:
    """What is sent for each run."""
    from dotloupe.patch import Patch
    from dotloupe.prepare import load_master
    from dotloupe.session import printed_together

    picture, corner_mm = None, (0, 0)
    versions: dict[Path | None, Version | None] = {None: None}
    if plan.picture is not None and plan.picture_file is not None:
        kind, corner_mm = "picture", plan.picture.frame_mm
        picture = load_master(plan.picture_file.path, plan.picture.print_width_mm)
        versions = _versions(plan, picture)
        _say_content(picture, Patch(plan.runs[0].ppi, kind=kind, corner_mm=corner_mm))
    for run, setting in zip(plan.runs, printed_together(plan), strict=True):
        patch = Patch(run.ppi, run.run, _label(run), kind, corner_mm)
        drawing, profile = _drawn(patch, picture, versions[plan.version_file(run)])
        yield Drawn(patch, drawing, profile, setting)


def _versions(plan: Plan, picture: SentPicture) -> dict[Path | None, Version | None]:
    """Versions that the runs send, by file; that of no file is the picture itself."""
    from dotloupe.capture import load_picture
    from dotloupe.prepare import align_version

    files = {file for run in plan.runs if (file := plan.version_file(run)) is not None}
    aligned: dict[Path | None, Version | None] = {None: None}
    aligned.update((file, align_version(load_picture(file), picture)) for file in sorted(files))
    return aligned


def _drawn(
    patch: Patch, picture: SentPicture | None, version: Version | None
) -> tuple[NDArray[np.unsignedinteger[Any]], bytes | None]:
    """What is sent for a run, and its profile where it is not sRGB of our own making."""
    from dotloupe.prepare import draw_frame, profile_of

    if picture is None:
        return patch.draw(), None
    sent = picture if version is None else version.picture
    return draw_frame(picture, patch, version=version), profile_of(sent)[0]


def _say_design(given: Namespace) -> None:
    """Say what the plan can find and in which order to print it, where choices are crossed."""
    from dotloupe.compare.effects import plan_design
    from dotloupe.report.text import planning_lines, shown, wrapped
    from dotloupe.session import load_plan, printing_order, run_levels, setting_names, stated

    plan = load_plan(given.plan)
    names = setting_names(plan)
    if len(set(names)) == 1:
        return
    levels = dict(zip(names, map(stated, run_levels(plan.runs)), strict=True))
    runs: dict[str, list[int]] = {name: [] for name in names}
    for name, run in zip(names, plan.runs, strict=True):
        runs[name].append(run.run)
    blocks = printing_order(runs, seed=given.seed)
    prints = {name: len(numbers) for name, numbers in runs.items()}
    for line in planning_lines(plan_design(levels, repeats=_repeats(given)), prints, blocks):
        say(wrapped(shown(line)))


def _repeats(given: Namespace) -> dict[str, float] | None:
    """How prints of the history vary, as shares of their values; None without a history."""
    if given.history is None:
        return None
    known = known_spreads(given) or {}
    shares = {name: k.variance**0.5 for name, k in known.items() if k.by_ratio and k.variance > 0}
    if not shares:
        raise InputError(
            f"{given.history}: no day holds two prints of one setting; add repeats, or leave it out"
        )
    return shares
