"""Files to pixels: TIFF, PNG and JPEG, with what they say of themselves."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
JPEG_START, JPEG_END = b"\xff\xd8\xff", b"\xff\xd9"
PNG_START, PNG_END = b"\x89PNG\r\n\x1a\n", b"IEND"
ICC_TAG, ORIENTATION_TAG = 34675, 274
SUFFIXES = (".tif", ".tiff", ".png", ".jpg", ".jpeg")


@dataclass(frozen=True)
class Decoded:
    """Pixels as stored, the colour profile that the file carries, and how it is to be turned."""

    pixels: NDArray[np.unsignedinteger[Any]]
    profile: bytes | None
    orientation: int


def decode(path: Path, data: bytes) -> Decoded:
    """Decode the bytes of a photograph.

    Raises
    ------
    InputError
        The file is empty, damaged, cut short or of another kind; the message says which.
    """
    if not data:
        raise InputError(f"{path}: the file is empty; copy it from the camera again")
    if data.startswith(TIFF_STARTS):
        return _decode_tiff(path, data)
    if data.startswith(JPEG_START):
        return _decode_with_opencv(path, data, JPEG_END, "JPEG")
    if data.startswith(PNG_START):
        return _decode_with_opencv(path, data, PNG_END, "PNG")
    raise InputError(f"{path}: not a TIFF, PNG or JPEG inside, whatever its name; export it anew")


def _decode_tiff(path: Path, data: bytes) -> Decoded:
    import tifffile

    try:
        with tifffile.TiffFile(io.BytesIO(data)) as file:
            page = file.pages.first
            pixels = np.asarray(page.asarray())
            tags = page.tags
            profile = tags[ICC_TAG].value if ICC_TAG in tags else None
            orientation = int(tags[ORIENTATION_TAG].value) if ORIENTATION_TAG in tags else 1
    except Exception as error:  # tifffile and its codecs raise many kinds on damaged data
        raise InputError(f"{path}: damaged or cut short; copy or export it again") from error
    return Decoded(_three_channels(path, pixels), profile, orientation)


def _decode_with_opencv(path: Path, data: bytes, end: bytes, kind: str) -> Decoded:
    import cv2
    from PIL import Image

    flags = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_ANYDEPTH | cv2.IMREAD_IGNORE_ORIENTATION
    whole = end in data[-4096:]
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags) if whole else None
    if pixels is None:
        raise InputError(f"{path}: the {kind} is damaged or cut short; copy or export it again")
    with Image.open(io.BytesIO(data)) as header:
        profile = header.info.get("icc_profile")
        orientation = int(header.getexif().get(ORIENTATION_TAG, 1))
    return Decoded(_three_channels(path, np.asarray(pixels)), profile, orientation)


def _three_channels(path: Path, pixels: NDArray[Any]) -> NDArray[np.unsignedinteger[Any]]:
    """Grey as three equal channels without a copy; alpha dropped."""
    if pixels.dtype not in (np.uint8, np.uint16):
        raise InputError(f"{path}: pixels of type {pixels.dtype}; export as 8 or 16 bits a channel")
    if pixels.ndim == 2:
        return np.broadcast_to(pixels[..., None], (*pixels.shape, 3))
    if pixels.ndim == 3 and pixels.shape[2] in (3, 4):
        return pixels[..., :3]
    raise InputError(f"{path}: not one picture in grey or RGB; export a single flattened picture")
