"""HEIC, AVIF and WebP: what telephones write and web pages hold, nearly always with loss."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.capture.damaged_file import damaged, refused_where_it_fails
from dotloupe.capture.file_cautions import CompressedWithLoss
from dotloupe.capture.size_limit import check_size
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from dotloupe.cautions import Caution

PHONE_SUFFIXES = (".heic", ".heif", ".hif", ".avif", ".webp")
AVIF_BRANDS = (b"avif", b"avis")
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
"""Brands of an ISO base media file (ISO/IEC 23008-12 and the AVIF specification, from memory)."""
BRANDS_END = 64
HIGH_DYNAMIC_RANGE = (16, 18)
"""Transfers PQ and HLG of ITU-T H.273: scene or display light with no fixed white."""
ORIENTATION_TAG = 274
TURNING_BOXES = (b"irot", b"imir")
"""Turn and mirror of an HEIC; where they stand EXIF repeats them."""


def phone_kind(start: bytes) -> str:
    """HEIC, AVIF or WebP by the first bytes of a file; empty for all others.

    Parameters
    ----------
    start : bytes
        At least 64, where the file has as many.
    """
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return "WebP"
    if start[4:8] != b"ftyp":
        return ""
    length = min(int.from_bytes(start[:4], "big"), BRANDS_END)
    brands = {start[8:12], *(start[i : i + 4] for i in range(16, length, 4))}
    if brands & set(AVIF_BRANDS):
        return "AVIF"
    return "HEIC" if brands & set(HEIC_BRANDS) else ""


def decode_phone_file(
    path: Path, data: bytes, kind: str
) -> tuple[NDArray[Any], bytes | None, int, tuple[Caution, ...]]:
    """Read an HEIC of 8 bits or more, or an AVIF or a WebP as 8 bits.

    Returns
    -------
    pixels : ndarray of shape (rows, columns) or (rows, columns, channels), uint8 or uint16
    profile : bytes or None
        Embedded ICC profile.
    orientation : int
        EXIF orientation that turns the pixels upright.
    warnings : tuple of Caution

    Raises
    ------
    InputError
        Damaged, moving, several pictures, or coded for displays of high dynamic range.
    """
    with refused_where_it_fails(damaged(path, kind)):
        decoded = _heic(path, data) if kind == "HEIC" else _by_pillow(path, data, kind)
    lossless = kind == "WebP" and _is_lossless_webp(data)
    return *decoded, () if lossless else (CompressedWithLoss(kind),)


def _is_lossless_webp(data: bytes) -> bool:
    """Whether the pixels of a WebP are kept in its chunk without loss (RFC 9649)."""
    place = 12
    while place + 8 <= len(data):
        if data[place : place + 4] in (b"VP8 ", b"VP8L"):
            return data[place : place + 4] == b"VP8L"
        length = int.from_bytes(data[place + 4 : place + 8], "little")
        place += 8 + length + length % 2
    return False


def _heic(path: Path, data: bytes) -> tuple[NDArray[Any], bytes | None, int]:
    """Pixels turned by the library where the file's own boxes say how; EXIF counts otherwise."""
    import pi_heif
    from PIL.Image import Exif

    file = pi_heif.open_heif(BytesIO(data), convert_hdr_to_8bit=False)
    _check_one(path, len(file))
    check_size(path, *file.size)
    transfer = (file.info.get("nclx_profile") or {}).get("transfer_characteristics")
    if transfer in HIGH_DYNAMIC_RANGE:
        raise InputError(
            f"{path}: coded for a display of high dynamic range; export it without, or as TIFF"
        )
    pixels = np.array(file)  # the library frees its own
    bits = int(file.info["bit_depth"])
    if bits > 8:
        # the library leaves the lowest bits of 16 empty
        full = 2**bits - 1
        levels = np.round(np.arange(full + 1) * (65535 / full)).astype(np.uint16)
        pixels = levels[pixels >> (16 - bits)]
    exif = Exif()
    exif.load(file.info.get("exif") or b"")
    boxes = data[: data.find(b"mdat")]
    turned = any(box in boxes for box in TURNING_BOXES)
    orientation = 1 if turned else int(exif.get(ORIENTATION_TAG, 1))
    return pixels, file.info.get("icc_profile"), orientation


def _by_pillow(path: Path, data: bytes, kind: str) -> tuple[NDArray[Any], bytes | None, int]:
    from PIL.AvifImagePlugin import AvifImageFile
    from PIL.WebPImagePlugin import WebPImageFile

    opened = AvifImageFile if kind == "AVIF" else WebPImageFile
    with opened(BytesIO(data)) as file:
        check_size(path, *file.size)
        _check_one(path, getattr(file, "n_frames", 1))
        orientation = int(file.getexif().get(ORIENTATION_TAG, 1))
        return np.asarray(file), file.info.get("icc_profile"), orientation


def _check_one(path: Path, pictures: int) -> None:
    if pictures > 1:
        raise InputError(f"{path}: holds {pictures} pictures; export each as a file of its own")
