"""Patches to print, written into the workbench's own folder as `dotloupe sheet` writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.errors import InputError
from dotloupe.storage import make_folder

if TYPE_CHECKING:
    from pathlib import Path

    from dotloupe.patch import PatchKind

PAPERS_MM = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A3+": (329.0, 483.0),
    "Letter": (215.9, 279.4),
    "10 x 15 cm": (101.6, 152.4),
    "13 x 18 cm": (127.0, 178.0),
}
"""Width and height: ISO 216; ANSI; the others by common practice, no source."""
MOST_PRINTS = 12


def write_sheets(
    folder: Path,
    kind: PatchKind,
    ppi: int,
    run: int,
    *,
    prints: int = 1,
    label: str = "",
    paper: str = "",
) -> list[Path]:
    """Write one file a print, of runs that follow each other.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    kind : {"detail", "tints", "contrast"}
    ppi : int
        Pixels per inch of the files.
    run : int
        Number of the first.
    prints : int
        How many; each has the next number and, on a sheet, the next slot.
    label : str
        Words printed on each.
    paper : str
        Name of the paper; without one each file is the patch alone.

    Returns
    -------
    list of Path

    Raises
    ------
    InputError
        A number is out of range, the paper is unknown, or holds fewer patches.
    """
    from dotloupe.patch import Patch, save_on_sheet, slots_mm

    if paper and paper not in PAPERS_MM:
        raise InputError(f"paper {paper}: choose one of {', '.join(PAPERS_MM)}")
    patches = [Patch(ppi, run + n, label, kind) for n in range(prints)]
    corners = slots_mm(PAPERS_MM[paper], patches[0].size_mm, prints) if paper else ()
    make_folder(folder)
    written = []
    for n, patch in enumerate(patches):
        words = (f"run{patch.run}", f"{ppi}ppi", kind, paper.replace(" ", ""))
        path = folder / f"{'_'.join(filter(None, words))}.tif"
        if paper:
            size = PAPERS_MM[paper]
            save_on_sheet(patch.draw(), ppi, path, sheet_mm=size, corner_mm=corners[n])
        else:
            patch.save(path)
        written.append(path)
    return written
