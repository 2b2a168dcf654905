"""Photographs from disk."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from dotloupe.capture.capture import Capture
from dotloupe.capture.decoding import SUFFIXES, decode
from dotloupe.capture.paper import paper_level
from dotloupe.capture.tone import tone_curve
from dotloupe.errors import InputError

PREVIEW_PX = 1000
SMALLEST_PX = 64


def load_capture(path: str | Path) -> Capture:
    """Read a photograph: 8 or 16-bit TIFF, PNG or JPEG.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Capture
        Linear through the file's colour profile (sRGB where it has none, with a warning),
        relative to the paper by the brighter part of the frame.

    Raises
    ------
    InputError
        The file is missing, damaged, too small or of another kind.
    """
    path = Path(path)
    data = _bytes_of(path)
    decoded = decode(path, data)
    pixels = _turned(decoded.pixels, decoded.orientation)
    if min(pixels.shape[:2]) < SMALLEST_PX:
        size = f"{pixels.shape[1]} x {pixels.shape[0]}"
        raise InputError(f"{path}: {size} pixels is too small for a photograph of a print")
    curve, warnings = tone_curve(decoded.profile, 256 if pixels.dtype == np.uint8 else 65536)
    step = max(1, min(pixels.shape[:2]) // PREVIEW_PX)
    level = paper_level(curve[pixels[::step, ::step]])
    return Capture(str(path), hashlib.sha256(data).hexdigest(), pixels, curve, level, warnings)


def load_captures(source: str | Path | Iterable[str | Path]) -> list[Capture]:
    """Read every photograph of a folder, or of a list of paths, in order of name.

    Raises
    ------
    InputError
        As `load_capture`, and for a folder that is missing or holds no photograph.
    """
    return [load_capture(path) for path in capture_paths(source)]


def capture_paths(source: str | Path | Iterable[str | Path]) -> list[Path]:
    """Paths of the photographs of a folder, sorted; a list of paths as it is."""
    if not isinstance(source, str | Path):
        return [Path(path) for path in source]
    folder = Path(source)
    if not folder.exists():
        raise InputError(f"{folder}: there is no such folder; check the name")
    if not folder.is_dir():
        raise InputError(
            f"{folder}: a file, not a folder; give the folder of one setting's captures"
        )
    paths = sorted(p for p in folder.iterdir() if p.suffix.lower() in SUFFIXES and p.is_file())
    if not paths:
        raise InputError(f"{folder}: no TIFF, PNG or JPEG in this folder; put its captures there")
    return paths


def _bytes_of(path: Path) -> bytes:
    if not path.exists():
        raise InputError(f"{path}: there is no such file; check the name")
    if path.is_dir():
        raise InputError(f"{path}: a folder, not a file; name the captures in it")
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror}); check its permissions"
        ) from error


def _turned(pixels: np.ndarray, orientation: int) -> np.ndarray:
    """Upright view by the EXIF orientation, 1 to 8 (CIPA DC-008, from memory)."""
    mirrored = orientation in (2, 4, 5, 7)
    quarter_turns = {3: 2, 4: 2, 5: 3, 6: 3, 7: 1, 8: 1}.get(orientation, 0)
    turned = np.rot90(pixels, quarter_turns)
    return turned[:, ::-1] if mirrored else turned
