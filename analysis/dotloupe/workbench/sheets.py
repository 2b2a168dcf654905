"""Patches to print, written into the workbench's own folder as `dotloupe sheet` writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.storage import make_folder

if TYPE_CHECKING:
    from pathlib import Path

    from dotloupe.patch import PatchKind

PAPERS = ("A4", "A3", "letter", "legal", "10x15cm", "13x18cm", "4x6in", "5x7in")
"""Papers that are offered; `paper_size` knows them."""
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
        Its name or size, as `paper_size` reads it; without one each file is the patch alone.

    Returns
    -------
    list of Path

    Raises
    ------
    InputError
        A number is out of range, the paper is unknown, or holds fewer patches.
    """
    from dotloupe.patch import Patch, save_on_sheet, slots_mm
    from dotloupe.patch.page import paper_size

    patches = [Patch(ppi, run + n, label, kind) for n in range(prints)]
    size_mm = paper_size(paper) if paper else None
    corners = slots_mm(size_mm, patches[0].size_mm, prints) if size_mm else ()
    on = "_on_{:g}x{:g}mm".format(*size_mm) if size_mm else ""
    make_folder(folder)
    written = []
    for n, patch in enumerate(patches):
        path = folder / f"run{patch.run}_{ppi}ppi_{kind}{on}.tif"
        if size_mm:
            save_on_sheet(patch.draw(), ppi, path, sheet_mm=size_mm, corner_mm=corners[n])
        else:
            patch.save(path)
        written.append(path)
    return written
