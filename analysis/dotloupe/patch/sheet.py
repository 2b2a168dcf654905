"""Files for the printer: one patch alone, or a patch in its slot on an otherwise white sheet."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import InputError
from dotloupe.patch.srgb import srgb_profile
from dotloupe.storage import whole
from dotloupe.units import MM_PER_INCH

MARGIN_MM = 15.0
"""Kept clear at the sheet's borders, where sheet-fed printers may not print (common practice)."""
GAP_MM = 10.0
"""Between slots: a frame of 36 x 24 mm about one patch, or a sheet fed askew, meets no other."""
TIFF_ENDINGS = (".tif", ".tiff")
STRIP_BYTES = 2**20
"""Of a drawing, coded at a time."""


def save_drawing(drawing: NDArray[np.uint8], ppi: float, path: Path) -> Path:
    """Write a drawing as an 8-bit TIFF with its resolution and an sRGB profile.

    Parameters
    ----------
    drawing : ndarray of shape (rows, columns, 3)
        sRGB-coded.
    ppi : float
        Pixels per inch that the file states.
    path : Path
        Where to write; its folder must exist.

    Returns
    -------
    Path
        The same path.

    Raises
    ------
    InputError
        Where the file cannot be written.
    """
    return _write(path, ppi, drawing)


def slots_mm(
    sheet_mm: tuple[float, float], patch_mm: tuple[float, float], count: int
) -> tuple[tuple[float, float], ...]:
    """Top left corners (x, y) of the first slots of a sheet, row after row, in mm.

    A slot depends on its number and the sizes alone, so that adding runs at a plan's end moves
    no other.

    Parameters
    ----------
    sheet_mm, patch_mm : pair of float
        Width and height.
    count : int
        Slots wanted.

    Raises
    ------
    InputError
        The sheet does not hold so many.
    """
    across, down = (
        int((whole - 2 * MARGIN_MM + GAP_MM + 1e-6) // (part + GAP_MM))
        for whole, part in zip(sheet_mm, patch_mm, strict=True)
    )
    held = max(across, 0) * max(down, 0)
    if count > held:
        raise InputError(
            f"a sheet of {sheet_mm[0]:g} x {sheet_mm[1]:g} mm holds {held} patches, not {count}; "
            "give a larger sheet or split the runs over two plans"
        )
    pitch = tuple(part + GAP_MM for part in patch_mm)
    places = (divmod(slot, across) for slot in range(count))
    return tuple((MARGIN_MM + c * pitch[0], MARGIN_MM + r * pitch[1]) for r, c in places)


def save_on_sheet(
    drawing: NDArray[np.unsignedinteger[Any]],
    ppi: float,
    path: Path,
    *,
    sheet_mm: tuple[float, float],
    corner_mm: tuple[float, float],
    profile: bytes | None = None,
) -> Path:
    """Write a white sheet with one drawing on it, a strip at a time.

    Parameters
    ----------
    drawing : ndarray of shape (rows, columns, 3), uint8 or uint16
    ppi : float
        Pixels per inch of the drawing, which the file states.
    path : Path
        Where to write; its folder must exist.
    sheet_mm : pair of float
        Width and height of the sheet.
    corner_mm : pair of float
        Top left corner (x, y) of the drawing, taken to the nearest pixel.
    profile : bytes, optional
        ICC profile that the drawing is coded by; sRGB otherwise.

    Returns
    -------
    Path
        The same path.

    Raises
    ------
    InputError
        Where the file cannot be written.
    """
    per_mm = ppi / MM_PER_INCH
    columns, rows = (round(length * per_mm) for length in sheet_mm)
    left, top = (round(length * per_mm) for length in corner_mm)
    strip_rows = min(rows, max(1, STRIP_BYTES // (3 * columns * drawing.itemsize)))
    strips = _coded_strips(drawing, (rows, columns), (top, left), strip_rows)
    layout = {"shape": (rows, columns, 3), "dtype": drawing.dtype, "rowsperstrip": strip_rows}
    return _write(path, ppi, strips, profile, **layout)


def _coded_strips(
    drawing: NDArray[np.unsignedinteger[Any]],
    size: tuple[int, int],
    corner: tuple[int, int],
    strip_rows: int,
) -> Iterator[bytes]:
    """Strips of rows of the white sheet, the drawing's rows laid in, coded as the TIFF holds them.

    White strips are coded once.
    """
    (rows, columns), (top, left) = size, corner
    height, width = drawing.shape[:2]
    white = np.iinfo(drawing.dtype).max
    blank = np.full((strip_rows, columns, 3), white, drawing.dtype)
    coded_blank = _coded(blank)
    for start in range(0, rows, strip_rows):
        stop = min(start + strip_rows, rows)
        first, last = max(start, top), min(stop, top + height)
        if first < last:
            strip = blank[: stop - start].copy()
            inked = drawing[first - top : last - top]
            strip[first - start : last - start, left : left + width] = inked
            yield _coded(strip)
        else:
            yield coded_blank if stop - start == strip_rows else _coded(blank[: stop - start])


def _coded(strip: NDArray[np.unsignedinteger[Any]]) -> bytes:
    """One strip, horizontally differenced and deflated (TIFF 6.0, sections 8 and 14)."""
    import imagecodecs

    return bytes(imagecodecs.zlib_encode(imagecodecs.delta_encode(strip, axis=-2).tobytes()))


def _write(path: Path, ppi: float, data: Any, profile: bytes | None = None, **layout: Any) -> Path:
    import tifffile

    if path.suffix.lower() not in TIFF_ENDINGS:
        raise InputError(f"{path}: a patch is written as TIFF alone; end its name in .tif")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first")
    with whole(path) as part:
        tifffile.imwrite(
            part,
            data,
            **layout,
            photometric="rgb",
            resolution=(ppi, ppi),
            resolutionunit="INCH",
            compression="zlib",
            predictor=True,
            iccprofile=srgb_profile() if profile is None else profile,
            metadata=None,
            software="dotloupe",
        )
    return path
