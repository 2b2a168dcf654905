"""Where everything lies on a page of patches, in mm from its upper left corner."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dotloupe.errors import InputError

PAPERS_MM = {
    "a3": (297.0, 420.0),
    "a4": (210.0, 297.0),
    "a5": (148.0, 210.0),
    "a6": (105.0, 148.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "10x15cm": (100.0, 150.0),
    "13x18cm": (130.0, 180.0),
    "4x6in": (101.6, 152.4),
    "5x7in": (127.0, 177.8),
}
"""Width and height of papers by name: ISO 216, ANSI/ASME Y14.1, and common photo papers."""
EDGE_MM = 5.0
"""Left white at each border: printers print to within 3 to 5 mm of it (common practice)."""
FOOT_MM = 10.0
"""Left white at the bottom, which sheet-fed printers reach less far (common practice)."""
HEAD_MM = 9.0
"""Height of the line that bears the arrow and the heading."""
RULER_MM, RULER_BAND_MM = 100.0, 9.0
AROUND_MM = 5.0
"""Paper that stays about a patch when it is cut off: room for its label and for tweezers."""
LARGEST_PAPER_MM = 3000.0


@dataclass(frozen=True)
class PageLayout:
    """Where everything lies on a page, in mm from its upper left corner.

    Attributes
    ----------
    paper_mm : (float, float)
        Width and height.
    patch_mm : (float, float)
        Width and height of a patch.
    corners_mm : tuple of (float, float)
        Upper left corners (x, y) that patches may have, row after row.
    ruler_mm : (float, float)
        Where the ruler begins.
    ruler_runs_down : bool
        The ruler runs down the page, else across it.
    """

    paper_mm: tuple[float, float]
    patch_mm: tuple[float, float]
    corners_mm: tuple[tuple[float, float], ...]
    ruler_mm: tuple[float, float]
    ruler_runs_down: bool

    @property
    def held(self) -> int:
        """Patches that one page holds."""
        return len(self.corners_mm)


def paper_size(name: str) -> tuple[float, float]:
    """Width and height in mm of a paper, by its name or as WIDTHxHEIGHT in mm.

    Raises
    ------
    InputError
        Neither a name that is known nor a size.
    """
    known = PAPERS_MM.get(name.strip().lower())
    if known is not None:
        return known
    size = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*x\s*(\d+(?:\.\d+)?)\s*", name)
    if size is None or max(map(float, size.groups())) > LARGEST_PAPER_MM:
        raise InputError(
            f"paper {name}: choose {', '.join(PAPERS_MM)}, or give width and height in mm "
            "as 210x297"
        )
    return float(size[1]), float(size[2])


def page_layout(paper_mm: tuple[float, float], patch_mm: tuple[float, float]) -> PageLayout:
    """Lay out a page: heading, ruler along the longer side, and cells for patches.

    Parameters
    ----------
    paper_mm, patch_mm : pair of float
        Width and height.

    Raises
    ------
    InputError
        The paper holds no patch, or no ruler.
    """
    width, height = paper_mm
    runs_down = height >= width
    ruler = (EDGE_MM, EDGE_MM + HEAD_MM)
    left = EDGE_MM + (RULER_BAND_MM if runs_down else 0)
    top = EDGE_MM + HEAD_MM + (0 if runs_down else RULER_BAND_MM)
    cell = tuple(part + 2 * AROUND_MM for part in patch_mm)
    across = int((width - EDGE_MM - left + 1e-6) // cell[0])
    down = int((height - FOOT_MM - top + 1e-6) // cell[1])
    room_mm = height - FOOT_MM - ruler[1] if runs_down else width - EDGE_MM - ruler[0]
    if min(across, down) < 1 or room_mm < RULER_MM:
        raise InputError(
            f"a paper of {width:g} x {height:g} mm is too small for a patch and a ruler of "
            f"{RULER_MM:g} mm; choose a larger one"
        )
    corners = tuple(
        (left + column * cell[0] + AROUND_MM, top + row * cell[1] + AROUND_MM)
        for row in range(down)
        for column in range(across)
    )
    return PageLayout(paper_mm, (patch_mm[0], patch_mm[1]), corners, ruler, runs_down)
