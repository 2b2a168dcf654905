"""A printed test patch: what it holds, its drawing at the resolution sent, its file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.errors import InputError
from dotloupe.patch import shapes
from dotloupe.patch.area_sampling import draw_shapes
from dotloupe.patch.corner_marks import (
    LARGEST_CORNER_MM,
    LAST_RUN,
    PATCH_VERSION,
    PatchCode,
    PatchKind,
)
from dotloupe.patch.layout import HEIGHT_MM, WIDTH_MM, patch_regions
from dotloupe.patch.lettering import printed_line
from dotloupe.patch.region import Region
from dotloupe.patch.sheet import save_drawing
from dotloupe.patch.srgb import srgb_encode
from dotloupe.units import MM_PER_INCH

LOWEST_PPI, HIGHEST_PPI = 150, 1500
DITHER_SEED = 8


@dataclass(frozen=True)
class Patch:
    """One test patch, drawn as continuous geometry and area-sampled to the resolution sent.

    Parameters
    ----------
    sent_ppi : int
        Pixels per inch of the file sent to the printer, 150 to 1500.
    run : int
        Number that the corner marks carry, 0 to 249: one per print setting or print.
    label : str
        Words for people, printed on the patch.
    kind : {"detail", "tints", "contrast", "picture"}
        Edges, bars, texture, lines and small tints; little but two large tints; gratings of every
        contrast, tone and colour; or marks round a part of a picture.
    corner_mm : (int, int)
        Where that part has its upper left corner in the picture's print.
    turned : bool
        It was fed turned by 90 degrees: the directions of its regions are those of the printer.
    scale : float
        Printed size over drawn size: regions and size are in mm on the print.

    Raises
    ------
    InputError
        Where the resolution, the run or the corner is out of range.
    """

    sent_ppi: int
    run: int = 0
    label: str = ""
    kind: PatchKind = "detail"
    corner_mm: tuple[int, int] = (0, 0)
    turned: bool = False
    scale: float = 1.0

    def __post_init__(self) -> None:
        if not LOWEST_PPI <= self.sent_ppi <= HIGHEST_PPI or self.sent_ppi != int(self.sent_ppi):
            raise InputError(
                f"sent ppi {self.sent_ppi}: choose a whole number from "
                f"{LOWEST_PPI} to {HIGHEST_PPI}"
            )
        if not 0 <= self.run <= LAST_RUN:
            raise InputError(f"run {self.run}: choose a run number from 0 to {LAST_RUN}")
        if not all(0 <= mm <= LARGEST_CORNER_MM and mm == int(mm) for mm in self.corner_mm):
            raise InputError(
                "the corner of the framed part: choose whole millimetres from 0 to "
                f"{LARGEST_CORNER_MM}"
            )

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        return self.scale * WIDTH_MM, self.scale * HEIGHT_MM

    @property
    def size_px(self) -> tuple[int, int]:
        """Rows and columns of the drawing: the size in mm to the nearest pixel."""
        rows = round(HEIGHT_MM / MM_PER_INCH * self.sent_ppi)
        return rows, round(WIDTH_MM / MM_PER_INCH * self.sent_ppi)

    @cached_property
    def regions(self) -> dict[str, Region]:
        """Every element's rectangle in mm, by name."""
        regions = patch_regions(self.kind)
        if self.scale != 1:
            regions = {name: region.scaled(self.scale) for name, region in regions.items()}
        if self.turned:
            regions = {name: region.across() for name, region in regions.items()}
        return regions

    @property
    def code(self) -> PatchCode:
        """What the small code says."""
        corner = self.corner_mm if self.kind == "picture" else None
        return PatchCode(PATCH_VERSION, self.kind, self.run, self.sent_ppi, corner)

    @property
    def printed_label(self) -> str:
        """What is printed of the label: letters that can be set, as many as the line holds."""
        (words,) = (region for region in self.regions.values() if region.kind == "text")
        return printed_line(self.label, words.width_mm, words.height_mm / 2)

    def reflectance(self, ppi: float | None = None) -> FloatArray:
        """Linear reflectance of the drawing.

        Parameters
        ----------
        ppi : float, optional
            Area-sample at this resolution in place of the one sent.

        Returns
        -------
        ndarray of shape (rows, columns, 3)
            Paper = 1.
        """
        ppi = self.sent_ppi if ppi is None else ppi
        size = (round(HEIGHT_MM / MM_PER_INCH * ppi), round(WIDTH_MM / MM_PER_INCH * ppi))
        words = (f"RUN {self.run}   {self.sent_ppi} ppi", self.label)
        return draw_shapes(shapes.patch_shapes(self.regions, self.code, words), size, ppi)

    def draw(self) -> NDArray[np.uint8]:
        """Draw what is sent to the printer: 8-bit sRGB, shape (rows, columns, 3).

        Area sampling averages light (linear reflectance), and the result is coded as sRGB.

        The faintest gratings of a contrast patch swing by under two levels, of which rounding
        would take or add up to a fifth. There each level is the one below or above by chance, in
        proportion, from a fixed seed: the swing is kept, to 3 % in one cell.
        """
        coded = 255 * srgb_encode(self.reflectance())
        if self.kind == "contrast":
            chance = np.random.default_rng(DITHER_SEED).random((*coded.shape[:2], 1))
            return np.floor(coded + chance).astype(np.uint8)
        return np.round(coded).astype(np.uint8)

    def save(self, path: str | Path) -> Path:
        """Write the drawing as a TIFF that carries its resolution and its sRGB profile.

        Parameters
        ----------
        path : str or Path
            Ends in .tif or .tiff; its folder must exist.

        Returns
        -------
        Path
            Where it was written.

        Raises
        ------
        InputError
            Where the file cannot be written.
        """
        return save_drawing(self.draw(), self.sent_ppi, Path(path))
