"""Pages of several patches, as `dotloupe sheet` writes them."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.cli.streams import say
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from dotloupe.patch import Patch
    from dotloupe.patch.page import Page, PageLayout, PagePatch

USUAL_PAPER = "A4"
PDF, PNG = ".pdf", ".png"


@dataclass(frozen=True)
class Drawn:
    """A patch as it is sent, its profile where it is not sRGB, and what its print is made with."""

    patch: Patch
    drawing: NDArray[np.unsignedinteger[Any]]
    profile: bytes | None = None
    setting: str = ""


def is_page(given: Namespace) -> bool:
    """Whether a page is asked for."""
    return given.page is not None or given.out.suffix.lower() == PDF


def write_pages(
    given: Namespace, drawn: Sequence[Drawn], sheet_mm: tuple[float, float] | None = None
) -> None:
    """Write pages, each of one setting (as PNG also of one ppi), and say what to do with them.

    Parameters
    ----------
    given : Namespace
        With out, and with page: the paper, by default `sheet_mm` or else A4.
    drawn : sequence of Drawn
    sheet_mm : pair of float, optional
        Width and height of the plan's own sheet.

    Raises
    ------
    InputError
        The paper, the file's ending or its folder is wrong.
    """
    from dotloupe.patch.page import page_layout, paper_size, save_pdf, save_png

    ending = given.out.suffix.lower()
    if ending not in (PDF, PNG):
        raise InputError(f"{given.out}: a page is a PDF or a PNG; end its name in .pdf or .png")
    paper_mm = sheet_mm if given.page is None else None
    layout = page_layout(paper_mm or paper_size(given.page or USUAL_PAPER), drawn[0].patch.size_mm)
    pages = _pages(drawn, layout, by_ppi=ending == PNG)
    if ending == PDF:
        save_pdf(given.out, layout, pages)
        say(f"{given.out}: {len(pages)} page{'s' if len(pages) > 1 else ''}")
    else:
        for path, page in zip(_names(given.out, len(pages)), pages, strict=True):
            save_png(path, layout, page)
            say(f"{path}: {page.patches[0].ppi:g} ppi")
    width, height = layout.paper_mm
    say(
        f"{width:g} x {height:g} mm. Print at 100 %, unscaled, each page with the setting in its "
        "heading, and measure the ruler."
    )
    if ending == PDF:
        say(
            "A PDF may take another way through the driver than a picture does. Compare only "
            "prints that were made from one kind of file."
        )


def _names(path: Path, count: int) -> list[Path]:
    if count == 1:
        return [path]
    return [path.with_stem(f"{path.stem}_{number}") for number in range(1, count + 1)]


def _pages(drawn: Sequence[Drawn], layout: PageLayout, *, by_ppi: bool) -> list[Page]:
    """Fill pages, each of what is printed in one go."""
    from dotloupe.patch.page import Page

    together: dict[tuple[str, int], list[Drawn]] = {}
    for one in drawn:
        together.setdefault((one.setting, one.patch.sent_ppi if by_ppi else 0), []).append(one)
    filled = [
        (setting, several[start : start + layout.held])
        for (setting, _), several in together.items()
        for start in range(0, len(several), layout.held)
    ]
    return [
        Page(_heading(number, len(filled), setting), tuple(map(_on_page, several)))
        for number, (setting, several) in enumerate(filled, start=1)
    ]


def _heading(number: int, count: int, setting: str) -> str:
    page = f"page {number} of {count}" if count > 1 else ""
    return ": ".join(filter(None, (page, setting)))


def _on_page(one: Drawn) -> PagePatch:
    from dotloupe.patch.page import PagePatch

    patch = one.patch
    words = ", ".join(filter(None, (f"run {patch.run}", f"{patch.sent_ppi} ppi", patch.label)))
    return PagePatch(one.drawing, patch.sent_ppi, words, one.profile)
