"""The picture that was sent to the printer: linear light of its pixels, and how large it prints."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import LUMINANCE
from dotloupe.capture.loading import load_capture
from dotloupe.cautions import Caution
from dotloupe.errors import InputError
from dotloupe.patch import srgb_decode

MM_PER_INCH = 25.4
LEAST_PPI = 100.0
"""Resolutions that a file states below this are a screen's or a camera's filler (72, 96)."""
CM_UNIT = 3
"""Value of a TIFF's ResolutionUnit for pixels per centimetre (TIFF 6.0)."""
SMALLEST_PX = 32


@dataclass(frozen=True, eq=False)
class SentPicture:
    """A picture as it was sent.

    Attributes
    ----------
    path, sha256 : str
        Its file and the hash of its bytes; empty for an array.
    pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
    linear : ndarray of shape (levels,), float32
        Linear light of each pixel value.
    ppi : float or None
        Pixels per inch of the print; None where nothing says how large it was printed.
    ppi_source : str
        What said so.
    profile : bytes or None
        The file's own ICC profile.
    warnings : tuple of Caution
        As `Capture.warnings`.
    """

    path: str
    pixels: NDArray[np.unsignedinteger[Any]]
    linear: FloatArray
    ppi: float | None = None
    ppi_source: str = ""
    sha256: str = ""
    profile: bytes | None = None
    warnings: tuple[Caution, ...] = ()

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.pixels.shape[0], self.pixels.shape[1]

    def light(self, weights: FloatArray = LUMINANCE) -> FloatArray:
        """Linear light, the channels weighted, shape (rows, columns)."""
        total = np.zeros(self.shape, np.float32)
        for channel, weight in enumerate(weights):
            total += np.float32(weight) * self.linear[self.pixels[..., channel]]
        return total


def load_picture(path: str | Path, print_width_mm: float | None = None) -> SentPicture:
    """Read the picture that was sent: a TIFF, PNG or JPEG.

    Parameters
    ----------
    path : str or Path
    print_width_mm : float, optional
        Width at which the whole picture was printed; by the resolution that the file states where
        not given.

    Raises
    ------
    InputError
        As `load_capture`; a width that is not above 0.
    """
    capture = load_capture(path)
    if print_width_mm is not None:
        if not 0 < print_width_mm < np.inf:
            raise InputError(f"print width {print_width_mm} mm: give one above 0")
        ppi: float | None = capture.shape[1] / print_width_mm * MM_PER_INCH
        source = f"{print_width_mm:g} mm wide, as given"
    else:
        ppi = _stated_ppi(Path(path))
        source = "" if ppi is None else f"{ppi:g} ppi, as its file states"
    return SentPicture(
        str(path),
        capture.pixels,
        capture.linear,
        ppi,
        source,
        capture.sha256,
        capture.profile,
        capture.warnings,
    )


def picture_of(picture: str | Path | FloatArray | SentPicture) -> SentPicture:
    """Picture by its path or its array.

    Parameters
    ----------
    picture : path, SentPicture or ndarray of shape (h, w), (h, w, 3) or (h, w, 4)
        Arrays are sRGB-coded: uint8, uint16, or float from 0 to 1.

    Raises
    ------
    InputError
        Arrays of another shape or type; files as `load_picture`.
    """
    if isinstance(picture, SentPicture):
        return picture
    if isinstance(picture, str | Path):
        return load_picture(picture)
    array = np.asarray(picture)
    if array.ndim not in (2, 3) or min(array.shape[:2]) < SMALLEST_PX:
        raise InputError(
            "the picture must be an array (h, w) or (h, w, 3) of at least "
            f"{SMALLEST_PX} x {SMALLEST_PX}, not {array.shape}"
        )
    if array.dtype.kind == "f":
        if not np.isfinite(array.sum(dtype=float)):
            raise InputError("the picture holds values that are not finite; fill them")
        array = np.round(65535 * np.clip(array, 0, 1)).astype(np.uint16)
    if array.dtype not in (np.dtype(np.uint8), np.dtype(np.uint16)):
        raise InputError(f"the picture is of {array.dtype}; give uint8, uint16, or float 0 to 1")
    coded: Any = array
    grey = coded if coded.ndim == 2 else coded[..., 0]
    coloured = coded.ndim == 3 and coded.shape[2] >= 3
    pixels = coded[..., :3] if coloured else np.broadcast_to(grey[..., None], (*grey.shape, 3))
    levels = 256 if coded.dtype == np.uint8 else 65536
    linear = srgb_decode(np.arange(levels) / (levels - 1)).astype(np.float32)
    return SentPicture("", pixels, linear)


def _stated_ppi(path: Path) -> float | None:
    """Pixels per inch that a file states, None where it is silent or has a screen's filler."""
    ppi = _tiff_ppi(path) if path.suffix.lower() in (".tif", ".tiff") else _other_ppi(path)
    return ppi if ppi is not None and ppi >= LEAST_PPI else None


def _tiff_ppi(path: Path) -> float | None:
    import tifffile

    with tifffile.TiffFile(path) as file:
        tags = file.pages.first.tags
        if "XResolution" not in tags:
            return None
        over, under = tags["XResolution"].value
        unit = tags["ResolutionUnit"].value if "ResolutionUnit" in tags else 2
    if not under:
        return None
    return float(over / under) * (2.54 if int(unit) == CM_UNIT else 1.0)


def _other_ppi(path: Path) -> float | None:
    from PIL import Image

    with Image.open(path) as header:
        dpi = header.info.get("dpi")
    # PNG states whole pixels a metre, so that 300 ppi reads 299.9994.
    return None if not dpi else round(float(dpi[0]), 2)
