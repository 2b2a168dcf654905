"""`dotloupe simulate`: an invented capture."""

from __future__ import annotations

from argparse import BooleanOptionalAction, Namespace
from pathlib import Path

from dotloupe.cli.parser import Parser, whole_number
from dotloupe.cli.streams import DONE, say
from dotloupe.errors import InputError

DESCRIPTION = """\
Invent a capture: a simulated print of a patch, photographed by a simulated camera.

Example: dotloupe simulate --mode fine --ppi 720 --run 3 --seed 1 --out fine3.jpg
"""


def parser() -> Parser:
    """Parser of what is typed after the command's name."""
    made = Parser("dotloupe simulate", DESCRIPTION)
    made.add_argument(
        "--out", type=Path, metavar="FILE", required=True, help="TIFF, PNG or JPEG to write."
    )
    made.add_argument(
        "--ppi", type=whole_number(), metavar="N", default=600, help="Pixels per inch sent."
    )
    made.add_argument(
        "--run", type=whole_number(), metavar="K", default=0, help="Number that the marks carry."
    )
    made.add_argument("--mode", metavar="MODE", default="fast", help="fast or fine.")
    made.add_argument(
        "--misaligned",
        action=BooleanOptionalAction,
        default=False,
        help="A head out of alignment.",
    )
    made.add_argument(
        "--seed",
        type=whole_number(),
        metavar="N",
        default=0,
        help="Seed of this print and this photograph.",
    )
    return made


def run(given: Namespace) -> int:
    """Print and photograph by simulation; return the exit status."""
    from dotloupe import simulate
    from dotloupe.patch import Patch

    modes = {"fast": simulate.FAST, "fine": simulate.FINE}
    if given.mode not in modes:
        raise InputError(f"--mode {given.mode}: choose fast or fine")
    if not given.out.parent.is_dir():
        raise InputError(f"{given.out}: there is no folder {given.out.parent}; make it first")
    alignment = simulate.MISALIGNED if given.misaligned else simulate.ALIGNED
    drawing = Patch(given.ppi, given.run, f"simulated, {given.mode}").draw()
    printed = simulate.print_picture(
        drawing, given.ppi, mode=modes[given.mode], alignment=alignment, seed=given.seed
    )
    picture = simulate.photograph(printed, shot=simulate.Shot(seed=given.seed))
    say(f"{simulate.write_capture(given.out, picture)}: simulated, not a photograph")
    return DONE
