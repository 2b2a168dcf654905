"""The part of the command that writes patches to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.patch import Patch, PatchKind
    from dotloupe.session import Run


def sheet(
    out: Annotated[
        Path, typer.Option(metavar="FILE", help="TIFF to write, or a plan's folder of them.")
    ],
    plan: Annotated[Path | None, typer.Argument(metavar="PLAN.toml", show_default=False)] = None,
    ppi: Annotated[
        int | None,
        typer.Option(metavar="N", help="Pixels per inch of the file to send, 150 to 1500."),
    ] = None,
    run: Annotated[
        int | None,
        typer.Option(metavar="K", help="Number that the marks carry, 0 to 249.", show_default="0"),
    ] = None,
    label: Annotated[str, typer.Option(metavar="TEXT", help="Words printed on the patch.")] = "",
    kind: Annotated[str, typer.Option(metavar="KIND", help="detail or tints.")] = "detail",
) -> None:
    """Write a patch to print, or the sheets of a session file, each run's patch in its own slot.

    Example: dotloupe sheet --ppi 600 --run 7 --out run7.tif

    Example: dotloupe sheet plan.toml --out sheets
    """
    from dotloupe.patch import Patch

    if kind not in ("detail", "tints"):
        raise InputError(f"--kind {kind}: choose detail or tints")
    chosen: PatchKind = "detail" if kind == "detail" else "tints"
    if plan is not None:
        if ppi is not None or run is not None or label:
            raise InputError(f"{plan}: it names ppi, run and label; leave the options out")
        _write_sheets(plan, out, chosen)
        return
    if ppi is None:
        raise InputError("sheet: give --ppi, or a session file PLAN.toml")
    patch = Patch(ppi, run or 0, label, chosen)
    path = patch.save(out)
    width, height = patch.size_mm
    typer.echo(f"{path}: {width:g} x {height:g} mm at {ppi} ppi; print it at 100 %, unscaled")
    _say_label(patch)


def _say_label(patch: Patch) -> None:
    """Say where a label is not printed as it was given, before paper is spent on it."""
    printed = patch.printed_label
    if printed != patch.label:
        typer.echo(
            f"run {patch.run}: the label is printed as {printed!r}, shortened to its line and to "
            "letters of Latin, Greek and Cyrillic script; give another if that does not do",
            err=True,
        )


def _label(run: Run) -> str:
    """Label that the plan gives, or else the setting in its words."""
    return run.label or ", ".join(filter(None, (run.mode, run.alignment)))


def _write_sheets(file: Path, folder: Path, kind: PatchKind) -> None:
    """Write one sheet a run, and say what to do with them."""
    from dotloupe.patch import Patch, save_on_sheet, slots_mm
    from dotloupe.session import load_plan
    from dotloupe.storage import make_folder

    plan = load_plan(file)
    if plan.sheet is None:
        raise InputError(f"{file}: no size of the sheet; add [sheet] with width_mm and height_mm")
    size = (plan.sheet.width_mm, plan.sheet.height_mm)
    patches = [Patch(r.ppi, r.run, _label(r), kind) for r in plan.runs]
    corners = slots_mm(size, patches[0].size_mm, len(patches))
    make_folder(folder)
    for patch, corner in zip(patches, corners, strict=True):
        path = folder / f"run{patch.run}_{patch.sent_ppi}ppi.tif"
        save_on_sheet(patch.draw(), patch.sent_ppi, path, sheet_mm=size, corner_mm=corner)
        typer.echo(str(path))
        _say_label(patch)
    typer.echo(
        f"{size[0]:g} x {size[1]:g} mm each: print them at 100 %, unscaled, on one sheet fed "
        "again for each run; every patch has a slot of its own"
    )
