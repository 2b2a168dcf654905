"""The part of the command that invents captures."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dotloupe.errors import InputError


def simulate(
    out: Annotated[Path, typer.Option(help="TIFF, PNG or JPEG to write.", metavar="FILE")],
    ppi: Annotated[int, typer.Option(metavar="N", help="Pixels per inch sent.")] = 600,
    run: Annotated[int, typer.Option(metavar="K", help="Number that the marks carry.")] = 0,
    mode: Annotated[str, typer.Option(metavar="MODE", help="fast or fine.")] = "fast",
    misaligned: Annotated[bool, typer.Option(help="A head out of alignment.")] = False,
    seed: Annotated[
        int, typer.Option(metavar="N", help="Chance of this print and this photograph.")
    ] = 0,
) -> None:
    """Invent a capture: a simulated print of a patch, photographed by a simulated camera.

    Example: dotloupe simulate --mode fine --ppi 720 --run 3 --seed 1 --out fine3.jpg
    """
    from dotloupe import simulate as invented
    from dotloupe.patch import Patch

    modes = {"fast": invented.FAST, "fine": invented.FINE}
    if mode not in modes:
        raise InputError(f"--mode {mode}: choose fast or fine")
    if not out.parent.is_dir():
        raise InputError(f"{out}: there is no folder {out.parent}; make it first")
    alignment = invented.MISALIGNED if misaligned else invented.ALIGNED
    drawing = Patch(ppi, run, f"simulated, {mode}").draw()
    printed = invented.print_picture(drawing, ppi, mode=modes[mode], alignment=alignment, seed=seed)
    picture = invented.photograph(printed, shot=invented.Shot(seed=seed))
    typer.echo(f"{invented.write_capture(out, picture)}: simulated, not a photograph")
