"""A page of patches, and its files: PDF that keeps every pixel, or PNG of one resolution."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import InputError
from dotloupe.patch.page.furniture import furniture_pdf, furniture_pixels
from dotloupe.patch.page.layout import PageLayout
from dotloupe.patch.srgb import srgb_profile
from dotloupe.storage import whole
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pypdf import PageObject, PdfWriter
    from pypdf.generic import IndirectObject, StreamObject

POINTS_PER_INCH = 72
PAGE_ENDINGS = (".pdf", ".png")


@dataclass(frozen=True)
class PagePatch:
    """One patch of a page, as it is sent.

    Attributes
    ----------
    drawing : ndarray of shape (rows, columns, 3), uint8 or uint16
    ppi : float
        Its own pixels per inch.
    label : str
        Words beneath it.
    profile : bytes or None
        ICC profile that it is coded by; None is sRGB.
    """

    drawing: NDArray[np.unsignedinteger[Any]]
    ppi: float
    label: str
    profile: bytes | None = None

    def corner_px(self, corner_mm: tuple[float, float]) -> tuple[int, int]:
        """Row and column of its own pixels, from the page's upper left corner, that it begins at.

        On whole pixels a printer's raster of a multiple of its ppi meets its pixels' borders.
        """
        per_mm = self.ppi / MM_PER_INCH
        return round(corner_mm[1] * per_mm), round(corner_mm[0] * per_mm)


@dataclass(frozen=True)
class Page:
    """Patches that are printed together, and what stands above them."""

    heading: str
    patches: tuple[PagePatch, ...]


def save_pdf(path: Path, layout: PageLayout, pages: Sequence[Page]) -> Path:
    """Write pages as one PDF that holds every pixel of every patch as it is, unscaled.

    Each patch is an image of its own, coded without loss, with its own ppi and ICC profile
    (ISO 32000-1, 8.9 and 8.6.5.5). The file asks programs not to scale it (12.2, PrintScaling).

    Parameters
    ----------
    path : Path
        Its folder must exist.
    layout : PageLayout
    pages : sequence of Page

    Raises
    ------
    InputError
        The file cannot be written.
    """
    from pypdf import PdfWriter
    from pypdf.generic import NameObject

    writer = PdfWriter()
    for page in pages:
        writer.append(BytesIO(furniture_pdf(layout, page.heading, _labels(page))))
        _lay_in(writer, writer.pages[-1], layout, page.patches)
    preferences = writer.create_viewer_preferences()
    preferences[NameObject("/PrintScaling")] = NameObject("/None")
    _check_folder(path)
    with whole(path) as part:
        writer.write(part)
    return path


def _lay_in(
    writer: PdfWriter, page: PageObject, layout: PageLayout, patches: Sequence[PagePatch]
) -> None:
    """Add the patches to a page, beneath what is drawn on it."""
    from pypdf.generic import (
        ArrayObject,
        DecodedStreamObject,
        DictionaryObject,
        NameObject,
    )

    places = []
    images = DictionaryObject()
    for number, (patch, corner_mm) in enumerate(zip(patches, layout.corners_mm, strict=False)):
        points = POINTS_PER_INCH / patch.ppi
        rows, columns = patch.drawing.shape[:2]
        top, left = patch.corner_px(corner_mm)
        foot = float(page.mediabox.height) - (top + rows) * points
        places.append(
            f"q {columns * points:.6f} 0 0 {rows * points:.6f} {left * points:.6f} {foot:.6f} cm "
            f"/Patch{number} Do Q\n"
        )
        images[NameObject(f"/Patch{number}")] = _image(writer, patch)
    drawn = DecodedStreamObject()
    drawn.set_data("".join(places).encode("ascii"))
    resources = cast("DictionaryObject", page["/Resources"])
    resources[NameObject("/XObject")] = images
    furniture = page.raw_get("/Contents")
    page[NameObject("/Contents")] = ArrayObject([_added(writer, drawn), furniture])


def _image(writer: PdfWriter, patch: PagePatch) -> IndirectObject:
    """Add a patch's pixels and its profile to the file; return the reference to it."""
    from pypdf.generic import ArrayObject, DecodedStreamObject, NameObject, NumberObject

    profile = DecodedStreamObject()
    profile.set_data(srgb_profile() if patch.profile is None else patch.profile)
    profile[NameObject("/N")] = NumberObject(3)
    space = ArrayObject([NameObject("/ICCBased"), _added(writer, profile.flate_encode())])
    image = DecodedStreamObject()
    # 16-bit samples stand with their high byte first (ISO 32000-1, 8.9.3)
    big_endian = patch.drawing.dtype.newbyteorder(">")
    image.set_data(np.ascontiguousarray(patch.drawing, dtype=big_endian).tobytes())
    rows, columns = patch.drawing.shape[:2]
    image[NameObject("/Type")] = NameObject("/XObject")
    image[NameObject("/Subtype")] = NameObject("/Image")
    image[NameObject("/Width")] = NumberObject(columns)
    image[NameObject("/Height")] = NumberObject(rows)
    image[NameObject("/BitsPerComponent")] = NumberObject(8 * patch.drawing.itemsize)
    image[NameObject("/ColorSpace")] = space
    return _added(writer, image.flate_encode())


def _added(writer: PdfWriter, stream: StreamObject) -> IndirectObject:
    """Add a stream to the file; return the reference to it. The library's guide does it so."""
    return writer._add_object(stream)  # noqa: SLF001


def save_png(path: Path, layout: PageLayout, page: Page) -> Path:
    """Write one page of patches of one ppi as PNG, each pixel of a patch one of the page.

    Raises
    ------
    InputError
        Patches of several ppi or profiles, or of 16 bits; the file cannot be written.
    """
    from PIL import Image

    first = page.patches[0]
    for patch in page.patches:
        if patch.ppi != first.ppi:
            raise InputError(f"{path}: a PNG has one ppi for all; write a PDF, or each alone")
        if patch.drawing.dtype != np.uint8 or patch.profile != first.profile:
            raise InputError(f"{path}: a PNG page has 8 bits and one colour profile; write a PDF")
    pixels = furniture_pixels(layout, page.heading, _labels(page), first.ppi)
    for patch, corner_mm in zip(page.patches, layout.corners_mm, strict=False):
        top, left = patch.corner_px(corner_mm)
        rows, columns = patch.drawing.shape[:2]
        pixels[top : top + rows, left : left + columns] = patch.drawing
    _check_folder(path)
    profile = srgb_profile() if first.profile is None else first.profile
    with whole(path) as part:
        Image.fromarray(pixels).save(
            part, format="PNG", dpi=(first.ppi, first.ppi), icc_profile=profile
        )
    return path


def _labels(page: Page) -> tuple[str, ...]:
    return tuple(patch.label for patch in page.patches)


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first")
