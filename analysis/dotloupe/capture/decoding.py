"""Files to pixels: camera files and pictures, with what they say of themselves."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import islice
from typing import IO, TYPE_CHECKING, Any, cast

import numpy as np

from dotloupe.capture.captured_stderr import captured_stderr
from dotloupe.capture.damaged_file import damaged, refused_where_it_fails
from dotloupe.capture.mosaic import looks_like_mosaic
from dotloupe.capture.phone_file import (
    BRANDS_END,
    PHONE_SUFFIXES,
    decode_phone_file,
    phone_kind,
)
from dotloupe.capture.raw_file import MOSAIC_WORDS, RAW_SUFFIXES, decode_raw_file
from dotloupe.capture.size_limit import check_size
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from mmap import mmap
    from pathlib import Path

    from numpy.typing import NDArray
    from tifffile import TiffPage

    from dotloupe.arrays import FloatArray
    from dotloupe.cautions import Caution

    PixelArray = NDArray[np.unsignedinteger[Any]]

TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
JPEG_START, JPEG_END = b"\xff\xd8\xff", b"\xff\xd9"
LAST_BYTES = 4096
"""A JPEG whose end lies further from the file's end is read twice to see whether it is whole."""
PNG_START = b"\x89PNG\r\n\x1a\n"
PNG_DEPTH_PLACE = 24
"""Byte that holds the bits a channel, in the first chunk (ISO/IEC 15948)."""
ICC_TAG, ORIENTATION_TAG, DNG_TAG = 34675, 274, 50706
TIFF_COLOURS = {"MINISBLACK": 1, "RGB": 3, "YCBCR": 3}
"""Colour models of a TIFF that are read, with their channels; alpha may follow."""
LOST = ("premature end", "bad Huffman code", "instead of RST")
"""Words by which the JPEG library says that it has filled in what is missing, and goes on."""
UNFIT_MODES = {"CMYK": "CMYK", "P": "a palette"}
"""Colour models of a PNG or JPEG that hold no photograph as light, by Pillow's names."""
TIFF_PASS_BYTES = 2**22
"""Read in one pass: the whole of a packed TIFF would be in memory twice over."""
MOST_PAGES = 64
"""Pictures and thumbnails of a TIFF that are looked at: if damaged, their chain may be endless."""
REDUCED_COPY = 1
"""Bit of a TIFF page's NewSubfileType that marks a thumbnail (TIFF 6.0, section 8)."""
SUFFIXES = (".tif", ".tiff", ".png", ".jpg", ".jpeg", *PHONE_SUFFIXES, *RAW_SUFFIXES)
UNREAD_KINDS = {
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"8BPS": "layered picture",
    b"\xff\x0a": "JPEG XL",
    b"\0\0\0\x0cJXL ": "JPEG XL",
    b"\0\0\0\x0cjP  ": "JPEG 2000",
}
"""Kinds of pictures that are not read, by their first bytes."""
UNREAD_SUFFIXES = (".gif", ".bmp", ".psd", ".jxl", ".jp2")
"""Their endings: such a file is named, not passed over."""


@dataclass(frozen=True)
class Decoded:
    """Pixels as stored, and what the file says of them.

    Attributes
    ----------
    pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
    profile : bytes or None
        Embedded ICC profile.
    orientation : int
        EXIF orientation, 1 to 8.
    curve : ndarray or None
        Linear light of each level where the kind of file fixes it.
    warnings : tuple of Caution
    jpeg_steps : tuple of int
        As `Capture.jpeg_steps`.
    """

    pixels: PixelArray
    profile: bytes | None
    orientation: int
    curve: FloatArray | None = None
    warnings: tuple[Caution, ...] = ()
    jpeg_steps: tuple[int, ...] = ()


def decode(path: Path, data: mmap, *, mapped: bool = False) -> Decoded:
    """Decode a photograph.

    Parameters
    ----------
    path : Path
    data : mmap
        The file's bytes, mapped and not read, so that a large file is in memory once.
    mapped : bool
        Leave the pixels of an unpacked TIFF in the file, mapped.

    Raises
    ------
    InputError
        The file is damaged, cut short or of another kind; the message says which.
    """
    if path.suffix.lower() in RAW_SUFFIXES:
        return _decode_raw_file(path)
    start = data[:BRANDS_END]
    if start.startswith(TIFF_STARTS):
        return _decode_tiff(path, mapped=mapped)
    if start.startswith(JPEG_START):
        return _decode_common(path, data, "JPEG")
    if start.startswith(PNG_START):
        return _decode_common(path, data, "PNG")
    if kind := phone_kind(start):
        pixels, profile, orientation, warnings = decode_phone_file(path, bytes(data), kind)
        return Decoded(_three_channels(pixels), profile, orientation, warnings=warnings)
    unread = next((name for begin, name in UNREAD_KINDS.items() if start.startswith(begin)), "")
    inside = f"{unread} inside, which is not read" if unread else "not a photograph that is read"
    raise InputError(f"{path}: {inside}; give a camera file, TIFF, PNG or JPEG")


def _decode_raw_file(path: Path) -> Decoded:
    pixels, curve, orientation, warnings = decode_raw_file(path)
    return Decoded(pixels, None, orientation, curve, warnings)


def _decode_tiff(path: Path, *, mapped: bool) -> Decoded:
    import tifffile

    logging.getLogger("tifffile").setLevel(logging.CRITICAL)
    with refused_where_it_fails(damaged(path, "TIFF")), tifffile.TiffFile(path) as file:
        if DNG_TAG in file.pages.first.tags:
            return _decode_raw_file(path)
        pages = list(islice(file.pages, MOST_PAGES + 1))
        if len(pages) > MOST_PAGES:
            raise InputError(
                f"{path}: holds over {MOST_PAGES} pictures; export each as a file of its own"
            )
        page = _only_page(path, [p for p in pages if isinstance(p, tifffile.TiffPage)])
        stored = np.dtype(page.dtype).newbyteorder(file.byteorder)
        if mapped and page.is_memmappable and stored.isnative:
            pixels = np.asarray(page.asarray(out="memmap"))
        else:
            pixels = page.asarray(maxworkers=1, buffersize=TIFF_PASS_BYTES)
        profile = page.tags[ICC_TAG].value if ICC_TAG in page.tags else None
        orientation = page.tags[ORIENTATION_TAG].value if ORIENTATION_TAG in page.tags else 1
        planar = page.planarconfig == tifffile.PLANARCONFIG.SEPARATE and pixels.ndim == 3
    upright = np.moveaxis(pixels, 0, -1) if planar else pixels
    if upright.ndim == 2 and looks_like_mosaic(upright):
        raise InputError(f"{path}: {MOSAIC_WORDS}")
    return Decoded(_three_channels(upright), profile, int(orientation))


def _only_page(path: Path, pages: list[TiffPage]) -> TiffPage:
    """The one picture of a TIFF, its thumbnails apart, of a kind that can be read as light."""
    import tifffile

    whole = [page for page in pages if not page.subfiletype & REDUCED_COPY]
    if not whole or any(_larger(child, page) for page in whole for child in page.pages or ()):
        raise InputError(
            f"{path}: its picture lies behind a reduced copy, as in a camera file of a kind "
            "unknown; convert it to DNG or export it as TIFF"
        )
    if len(whole) > 1:
        raise InputError(f"{path}: holds {len(whole)} pictures; export each as a file of its own")
    page = whole[0]
    if page.dtype not in (np.uint8, np.uint16) or page.bitspersample not in (8, 16):
        raise InputError(
            f"{path}: {page.bitspersample} bits a channel of type {page.dtype}; "
            "export as 8 or 16 bits a channel"
        )
    colours = tifffile.PHOTOMETRIC(page.photometric).name
    if colours == "CFA":
        raise InputError(f"{path}: {MOSAIC_WORDS}")
    if colours not in TIFF_COLOURS:
        raise InputError(f"{path}: its colours are {colours}; export as RGB or grey")
    extra = page.samplesperpixel - TIFF_COLOURS[colours]
    if not 0 <= extra <= 1 or len(page.shape) > 3:
        raise InputError(f"{path}: not one picture in grey or RGB; export it flattened, as RGB")
    check_size(path, page.imagewidth, page.imagelength)
    ends = (a + n for a, n in zip(page.dataoffsets, page.databytecounts, strict=True))
    if max(ends, default=0) > path.stat().st_size:
        raise damaged(path, "TIFF")
    return page


def _larger(child: Any, page: TiffPage) -> bool:
    """Whether a picture below a page is more than a reduced copy of it."""
    return int(child.imagewidth) * int(child.imagelength) > page.imagewidth * page.imagelength


def _decode_common(path: Path, data: mmap, kind: str) -> Decoded:
    """Decode a JPEG or PNG."""
    from PIL.JpegImagePlugin import JpegImageFile
    from PIL.PngImagePlugin import PngImageFile

    file = cast("IO[bytes]", data)
    # opened as what they are: the limit of size is ours, and so is the message
    opened = PngImageFile if kind == "PNG" else JpegImageFile
    with refused_where_it_fails(damaged(path, kind)):
        if kind == "PNG":
            with PngImageFile(file) as whole:
                whole.verify()
            file.seek(0)
        with opened(file) as header:
            check_size(path, *header.size)
            profile = header.info.get("icc_profile")
            orientation = int(header.getexif().get(ORIENTATION_TAG, 1))
            mode, pictures = header.mode, getattr(header, "n_frames", 1)
            tables = getattr(header, "quantization", None) or {}
            if kind == "JPEG" and JPEG_END not in data[-LAST_BYTES:]:
                header.load()
    if mode in UNFIT_MODES:
        raise InputError(f"{path}: its colours are {UNFIT_MODES[mode]}; export as RGB or grey")
    if kind == "PNG" and data[PNG_DEPTH_PLACE] < 8:
        raise InputError(
            f"{path}: {data[PNG_DEPTH_PLACE]} bits a channel; export as 8 or 16 bits a channel"
        )
    if pictures > 1:
        raise InputError(f"{path}: holds {pictures} pictures; export each as a file of its own")
    pixels = _png_pixels(path, data) if kind == "PNG" else _jpeg_pixels(path, data)
    stored = _three_channels(pixels)
    return Decoded(stored, profile, orientation, jpeg_steps=tuple(tables.get(0, ())))


def _png_pixels(path: Path, data: mmap) -> PixelArray:
    import cv2

    pixels = _heard_by_opencv(data, cv2.IMREAD_COLOR_RGB | cv2.IMREAD_ANYDEPTH)
    if pixels is None:
        raise damaged(path, "PNG")
    return pixels


def _jpeg_pixels(path: Path, data: mmap) -> PixelArray:
    """Pixels of a JPEG, in memory once.

    OpenCV tells where something is lost but holds a picture twice; at an eighth of its size it
    tells the same. The codec that holds it once fills in what is lost and tells nothing.
    """
    import cv2
    import imagecodecs

    with refused_where_it_fails(damaged(path, "JPEG")), ThreadPoolExecutor(1) as beside:
        heard = beside.submit(_heard_by_opencv, data, cv2.IMREAD_REDUCED_GRAYSCALE_8)
        pixels = np.asarray(imagecodecs.jpeg8_decode(data, outcolorspace="RGB"))
    if heard.result() is None:
        raise damaged(path, "JPEG")
    return pixels


def _heard_by_opencv(data: mmap, flags: int) -> PixelArray | None:
    """Decode with OpenCV; None where it fails, or says that it filled in what is lost."""
    import cv2

    try:
        with captured_stderr() as lines:
            pixels = cv2.imdecode(
                np.frombuffer(data, np.uint8), flags | cv2.IMREAD_IGNORE_ORIENTATION
            )
    except cv2.error:
        return None
    if pixels is None or any(words in line for line in lines for words in LOST):
        return None
    return np.asarray(pixels)


def _three_channels(pixels: NDArray[Any]) -> PixelArray:
    """Grey as three equal channels without a copy; alpha dropped."""
    grey = pixels[..., None] if pixels.ndim == 2 else pixels[..., :1]
    if pixels.ndim == 2 or pixels.shape[2] < 3:
        return np.broadcast_to(grey, (*pixels.shape[:2], 3))
    return pixels[..., :3]
