"""Photographs from disk."""

from __future__ import annotations

import hashlib
import mmap
import stat
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, cast

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import Capture
from dotloupe.capture.decoding import SUFFIXES, UNREAD_SUFFIXES, decode
from dotloupe.capture.exif import camera_settings
from dotloupe.capture.file_cautions import CameraToneCurve, Simulated
from dotloupe.capture.paper_level import paper_level
from dotloupe.capture.raw_file import RAW_SUFFIXES
from dotloupe.capture.reduced_file import REDUCED_MARK, read_reduced
from dotloupe.capture.tone import tone_curve
from dotloupe.errors import InputError

HALF = "_half"
"""Ends the name of the darker exposure: `print1_half.jpg` beside `print1.jpg`."""
PREVIEW_PX = 500
SIMULATED_MARK = b"dotloupe.simulate"
MARK_REACH_BYTES = 65536


def load_capture(path: str | Path, *, mapped: bool = False) -> Capture:
    """Read a photograph: a camera file, TIFF, PNG, JPEG, HEIC, AVIF or WebP.

    Parameters
    ----------
    path : str or Path
    mapped : bool
        Read the pixels of an unpacked TIFF from the file as they are used. The file must not be
        changed or taken away as long as the capture is in use: the process would end.

    Returns
    -------
    Capture
        Linear through the file's colour profile (sRGB where it has none, with a warning; a
        camera file is linear in itself), relative to the paper by the brighter part of the frame.

    Raises
    ------
    InputError
        The file is missing, damaged, of another kind, too small or too large (`picture_size`).
    """
    path = Path(path)
    with _mapped(path) as data, ThreadPoolExecutor(1) as beside:
        digest = beside.submit(lambda: hashlib.sha256(data).hexdigest())
        if data.find(REDUCED_MARK, 0, MARK_REACH_BYTES) >= 0:
            return read_reduced(path, digest.result())
        decoded = decode(path, data, mapped=mapped)
        settings = camera_settings(cast("BinaryIO", data))
        sha256 = digest.result()
        simulated = data.find(SIMULATED_MARK, 0, MARK_REACH_BYTES) >= 0
    pixels = upright(decoded.pixels, decoded.orientation)
    curve, warnings = decoded.curve, decoded.warnings
    if curve is None:
        levels = 256 if pixels.dtype == np.uint8 else 65536
        declared = settings.colour_space == "sRGB"
        curve, toned = tone_curve(decoded.profile, levels, declared_srgb=declared)
        warnings = (*warnings, *toned)
    if simulated:
        warnings = (*warnings, Simulated())
    elif decoded.jpeg_steps and settings.model:
        warnings = (*warnings, CameraToneCurve())
    level = thinned_paper_level(pixels, curve)
    return Capture(
        str(path),
        sha256,
        pixels,
        curve,
        level,
        warnings,
        settings,
        decoded.jpeg_steps,
        decoded.profile,
        from_raw=decoded.curve is not None,
    )


def thinned_paper_level(pixels: NDArray[Any], curve: FloatArray) -> FloatArray:
    """Level of the paper, from a thinned picture."""
    import cv2

    step = -(-min(pixels.shape[:2]) // PREVIEW_PX)
    return paper_level(np.asarray(cv2.LUT(np.ascontiguousarray(pixels[::step, ::step]), curve)))


def load_captures(source: str | Path | Iterable[str | Path]) -> list[Capture]:
    """Read every photograph of a folder, or of a list of paths, in order of name.

    Parameters
    ----------
    source : str, Path or iterable of them
        The folder, or the photographs.

    Returns
    -------
    list of Capture

    Raises
    ------
    InputError
        As `load_capture`, and for a folder that is missing or holds no photograph.
    """
    return [load_capture(path) for path in capture_paths(source)]


def capture_paths(source: str | Path | Iterable[str | Path]) -> list[Path]:
    """Paths of the photographs of a folder, sorted; a list of paths as it is.

    Of a camera file and a developed picture of the same name only the camera file is taken: they
    are one photograph. Of two exposures (`NAME`, `NAME_half`) the brighter is taken. Pictures of
    kinds that are not read are among them, to be named when read.

    Raises
    ------
    InputError
        The folder is missing, cannot be read, or holds no photograph.
    """
    if not isinstance(source, str | Path):
        return [Path(path) for path in source]
    folder = Path(source)
    try:
        files = sorted(folder.iterdir())
    except FileNotFoundError as error:
        raise InputError(f"{folder}: there is no such folder; check the name") from error
    except NotADirectoryError as error:
        raise InputError(
            f"{folder}: a file, not a folder; give the folder of one setting's captures"
        ) from error
    except OSError as error:
        raise InputError(f"{folder}: cannot be read ({error.strerror}); check it") from error
    # a link that leads nowhere stays, to be named when it is read
    there = [p for p in files if p.is_file() or (p.is_symlink() and not p.exists())]
    paths = [p for p in there if p.suffix.lower() in (*SUFFIXES, *UNREAD_SUFFIXES)]
    if not paths:
        raise InputError(f"{folder}: {_other_files(there)}; put its captures there")
    originals = {p.stem for p in paths if p.suffix.lower() in RAW_SUFFIXES}
    paths = [p for p in paths if p.suffix.lower() in RAW_SUFFIXES or p.stem not in originals]
    return [p for p in paths if not is_half(p)]


def half_of(path: Path) -> Path | None:
    """Path of the darker exposure beside a photograph; None where there is none."""
    half = path.with_name(f"{path.stem}{HALF}{path.suffix}")
    return half if half.is_file() else None


def is_half(path: Path) -> bool:
    """Whether a file is the darker of two exposures that lie side by side."""
    whole = path.with_name(path.stem.removesuffix(HALF) + path.suffix)
    return path.stem.endswith(HALF) and whole.is_file()


def _other_files(there: Iterable[Path]) -> str:
    endings = sorted({p.suffix.lower() for p in there if p.suffix and p.name[0] != "."})
    if not endings:
        return "no photograph in this folder"
    return f"no photograph of a kind that is read, only files of {', '.join(endings[:4])}"


def given_paths(places: Iterable[Path]) -> list[Path]:
    """Files as they are, and the photographs of folders; a folder without any stays itself.

    Reading such a folder names it, and costs the others nothing.
    """
    paths: list[Path] = []
    for place in places:
        try:
            paths += capture_paths(place) if place.is_dir() else [place]
        except InputError:
            paths.append(place)
    return paths


@contextmanager
def _mapped(path: Path) -> Iterator[mmap.mmap]:
    """Bytes of a file, mapped for reading."""
    if "\0" in str(path):
        raise InputError(f"{str(path)!r}: no name that a file can have; check it")
    try:
        kind = path.stat()
        if stat.S_ISDIR(kind.st_mode):
            raise InputError(f"{path}: a folder, not a file; name the captures in it")
        if not stat.S_ISREG(kind.st_mode):
            raise InputError(f"{path}: a device or pipe, not a file; name a photograph")
        if kind.st_size == 0:
            raise InputError(f"{path}: the file is empty; copy it from the camera again")
        file = path.open("rb")
    except (FileNotFoundError, NotADirectoryError) as error:
        broken = "a link that leads nowhere; copy the photograph itself"
        missing = broken if path.is_symlink() else "there is no such file; check the name"
        raise InputError(f"{path}: {missing}") from error
    except OSError as error:
        why = error.strerror
        raise InputError(
            f"{path}: cannot be read ({why}); check its name and permissions"
        ) from error
    with file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        yield data


def upright(pixels: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Upright view by the EXIF orientation, 1 to 8 (CIPA DC-008, from memory)."""
    mirrored = orientation in (2, 4, 5, 7)
    quarter_turns = {3: 2, 4: 2, 5: 3, 6: 3, 7: 1, 8: 1}.get(orientation, 0)
    turned = np.rot90(pixels, quarter_turns)
    return turned[:, ::-1] if mirrored else turned
