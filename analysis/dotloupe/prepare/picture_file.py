"""Files of prepared pictures: TIFF, PNG or JPEG, with resolution and profile, whole or not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import InputError
from dotloupe.storage import whole

TIFF_SUFFIXES, OTHER_SUFFIXES = (".tif", ".tiff"), (".png", ".jpg", ".jpeg")
JPEG_QUALITY = 98
GREY_PROFILE, PROFILE_SPACE = b"GRAY", slice(16, 20)
"""Colour space of a profile, in its header (ICC.1, clause 7.2)."""


def check_suffix(path: Path, depth: int) -> None:
    """Refuse a name whose kind of file cannot be written.

    Parameters
    ----------
    path : Path
    depth : {8, 16}
        Bits a channel that are to be kept.

    Raises
    ------
    InputError
        Another ending, or one whose kind holds 8 bits alone where there are 16.
    """
    suffix = path.suffix.lower()
    if suffix not in (*TIFF_SUFFIXES, *OTHER_SUFFIXES):
        raise InputError(f"{path}: written are TIFF, PNG and JPEG; end its name in .tif")
    if depth == 16 and suffix in OTHER_SUFFIXES:
        raise InputError(f"{path}: the picture has 16 bits a channel; end its name in .tif")
    if not path.absolute().parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first")


def write_picture(
    path: Path, pixels: NDArray[np.unsignedinteger[Any]], ppi: float, profile: bytes
) -> None:
    """Write a picture in the kind that its name ends in.

    Parameters
    ----------
    path : Path
    pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
        Of a grey profile the first channel is written alone.
    ppi : float
        Pixels per inch that the file states.
    profile : bytes
        ICC profile that it carries.

    Raises
    ------
    InputError
        As `check_suffix`, or the file cannot be written.
    """
    check_suffix(path, 8 * pixels.dtype.itemsize)
    grey = profile[PROFILE_SPACE] == GREY_PROFILE
    stored = np.ascontiguousarray(pixels[..., 0] if grey else pixels)
    with whole(path) as part:
        if path.suffix.lower() in TIFF_SUFFIXES:
            _write_tiff(part, stored, ppi, profile)
        else:
            _write_other(part, stored, ppi, profile)


def _write_tiff(path: Path, pixels: NDArray[Any], ppi: float, profile: bytes) -> None:
    import tifffile

    tifffile.imwrite(
        path,
        pixels,
        photometric="minisblack" if pixels.ndim == 2 else "rgb",
        resolution=(ppi, ppi),
        resolutionunit="INCH",
        compression="zlib",
        predictor=True,
        iccprofile=profile,
        metadata=None,
        software="dotloupe",
    )


def _write_other(path: Path, pixels: NDArray[Any], ppi: float, profile: bytes) -> None:
    from PIL import Image

    settings: dict[str, Any] = {"dpi": (ppi, ppi), "icc_profile": profile}
    if path.suffix.lower() != ".png":
        settings |= {"quality": JPEG_QUALITY, "subsampling": 0}
    Image.fromarray(pixels).save(path, **settings)
