"""The folder at work: the photographs that lie in it, and new ones taken in; nothing outside it."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.capture import JPEG_START, PNG_START, SUFFIXES, TIFF_STARTS, capture_paths
from dotloupe.errors import InputError
from dotloupe.storage import make_folder, whole

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator

OWN = "dotloupe_workbench"
"""Folder inside the folder at work: notes, the picture that was sent, the report."""

MOST_BYTES = 600 * 2**20
"""Of one file: a 16-bit TIFF of 100 megapixels holds as much."""

MOST_CAPTURES = 300
START_BYTES = 8
LONGEST_NAME_BYTES = 200
STARTS: dict[str, tuple[bytes, ...]] = {
    ".jpg": (JPEG_START,),
    ".jpeg": (JPEG_START,),
    ".png": (PNG_START,),
    ".tif": TIFF_STARTS,
    ".tiff": TIFF_STARTS,
}
"""First bytes of each kind; camera files have many, and are judged when they are read."""


@dataclass(frozen=True)
class Found:
    """One photograph in the folder.

    Attributes
    ----------
    key : str
        Path from the folder at work, with slashes; what the browser names it by.
    path : Path
    folder : str
        Folder that it lies in, whose name is its setting's; empty at the top.
    stamp : tuple of int
        Size and time of change: another photograph of the same name has another.
    """

    key: str
    path: Path
    folder: str
    stamp: tuple[int, int]


class RefusedError(InputError):
    """A file that is not taken in, with the status that the browser is told."""

    def __init__(self, message: str, status: int = 400):
        super().__init__(message)
        self.status = status


def opened_folder(path: Path) -> Path:
    """Return the folder at work, its links followed once and for all.

    Raises
    ------
    InputError
        There is none, or none can be made.
    """
    if path.exists() and not path.is_dir():
        raise InputError(f"{path}: a file, not a folder; give the folder of the captures")
    make_folder(path)
    return path.resolve()


def photographs(root: Path) -> tuple[dict[str, Found], tuple[str, ...]]:
    """Photographs at the top of the folder and one folder down, and names that lead out of it."""
    found: dict[str, Found] = {}
    outside: list[str] = []
    places = [root, *sorted(p for p in root.iterdir() if p.is_dir() and _visible(p.name))]
    for place in places:
        if not inside(root, place):
            outside.append(place.name)
            continue
        folder = "" if place == root else place.name
        for path in _captures(place):
            key = f"{folder}/{path.name}" if folder else path.name
            if inside(root, path):
                status = path.stat()
                found[key] = Found(key, path, folder, (status.st_size, status.st_mtime_ns))
            else:
                outside.append(key)
    return found, tuple(outside)


def inside(root: Path, path: Path) -> bool:
    """Whether a path, its links followed, lies in the folder at work."""
    try:
        return path.resolve(strict=True).is_relative_to(root)
    except (OSError, RuntimeError, ValueError):
        return False


async def take_in(
    root: Path, name: str, content: AsyncIterator[bytes], *, most_bytes: int = MOST_BYTES
) -> Path:
    """Take a photograph into the folder, as `name.jpg` or `setting/name.jpg`.

    Where another photograph has that name, this one takes the next free one.

    Raises
    ------
    RefusedError
        The name, the kind or the size is none that is taken, or the photograph is there already.
    """
    target = _target(root, name)
    async with _received(target, name, content, most_bytes) as (size, digest):
        if duplicate := _duplicate(root, size, digest):
            raise RefusedError(f"{name}: the same photograph is here already, as {duplicate}", 409)
        if _taken(target):
            raise RefusedError(f"{name}: came in twice at once; drop it again", 409)
    return target


async def take_picture(
    root: Path, name: str, content: AsyncIterator[bytes], *, most_bytes: int = MOST_BYTES
) -> Path:
    """Take the picture that was sent into the workbench's own folder, in place of an earlier one.

    Raises
    ------
    RefusedError
        As `take_in`; a camera file is no picture that is sent to a printer.
    """
    ending = Path(name).suffix.lower()
    if not _plain(name) or ending not in STARTS:
        raise RefusedError(f"{name}: the picture that was sent is a TIFF, PNG or JPEG", 415)
    own = root / OWN
    make_folder(own)
    if not inside(root, own):
        raise RefusedError(f"{OWN}: leads out of the folder; remove that link")
    target = own / f"picture{ending}"
    if target.is_symlink():
        raise RefusedError(f"{target.name}: leads out of the folder; remove that link")
    async with _received(target, name, content, most_bytes):
        pass
    return target


@asynccontextmanager
async def _received(
    target: Path, name: str, content: AsyncIterator[bytes], most_bytes: int
) -> AsyncIterator[tuple[int, str]]:
    """Write what comes in, give its size and SHA-256, and put it in its place after the block."""
    digest, size, start = hashlib.sha256(), 0, b""
    with whole(target) as part:
        with part.open("xb") as file:
            async for piece in content:
                size += len(piece)
                if size > most_bytes:
                    message = f"{name}: larger than {most_bytes / 2**20:.0f} MB; export it smaller"
                    raise RefusedError(message, 413)
                if len(start) < START_BYTES:
                    start += piece[: START_BYTES - len(start)]
                    _check_start(name, target, start)
                digest.update(piece)
                file.write(piece)
        if size < START_BYTES:
            raise RefusedError(f"{name}: the file is empty; copy it from the camera again")
        yield size, digest.hexdigest()


def _target(root: Path, name: str) -> Path:
    """Where a file of this name goes, its folder made; refuses what leads anywhere else."""
    parts = name.split("/")
    if len(parts) > 2 or not all(_plain(part) for part in parts) or parts[0] == OWN:
        raise RefusedError(f"{name}: no name for a photograph here; rename it")
    target = root.joinpath(*parts)
    if target.suffix.lower() not in SUFFIXES:
        raise RefusedError(
            f"{name}: not a photograph by its name; drop TIFF, PNG, JPEG, HEIC or raw", 415
        )
    found, _ = photographs(root)
    if len(found) >= MOST_CAPTURES:
        raise RefusedError(f"{name}: {MOST_CAPTURES} photographs are here; begin another folder")
    if len(parts) > 1:
        make_folder(target.parent)
        if not inside(root, target.parent):
            raise RefusedError(f"{parts[0]}: leads out of the folder; drop the photographs alone")
    return _free(target)


def _free(path: Path) -> Path:
    """First path that no file has: `print1-2_shot1.jpg` where `print1_shot1.jpg` is there.

    The number stands before what joins files by their names, so that both shots of a print and
    both exposures of a photograph stay together.
    """
    base = re.sub(r"(_shot\d+)?(_half)?$", "", path.stem)
    joined, number = path.stem[len(base) :], 1
    while _taken(path):
        number += 1
        path = path.with_name(f"{base}-{number}{joined}{path.suffix}")
    return path


def _taken(path: Path) -> bool:
    return path.is_symlink() or path.exists()


def _plain(part: str) -> bool:
    """Whether a name is one of a file or a folder, and nothing more."""
    spoken = not any(unicodedata.category(c) in ("Cc", "Cs") for c in part)
    fits = 0 < len(part.encode("utf-8", "replace")) <= LONGEST_NAME_BYTES
    return spoken and fits and _visible(part) and "\\" not in part


def _visible(name: str) -> bool:
    return not name.startswith(".") and name != OWN


def _check_start(name: str, target: Path, start: bytes) -> None:
    kinds = STARTS.get(target.suffix.lower(), ())
    if kinds and not any(start.startswith(k[: len(start)]) for k in kinds):
        raise RefusedError(
            f"{name}: not a TIFF, PNG or JPEG inside, nor a camera file, whatever its name; "
            "export it again",
            415,
        )


def _duplicate(root: Path, size: int, digest: str) -> str:
    """Name of a file in the folder with the same bytes; empty if none has."""
    for place in (root, *(p for p in root.iterdir() if p.is_dir() and _visible(p.name))):
        for path in place.iterdir() if inside(root, place) else ():
            here = path.is_file() and _visible(path.name) and inside(root, path)
            if here and path.stat().st_size == size:
                with path.open("rb") as file:
                    if hashlib.file_digest(file, "sha256").hexdigest() == digest:
                        return path.relative_to(root).as_posix()
    return ""


def _captures(place: Path) -> Iterator[Path]:
    """Photographs of a folder; a camera file and its developed picture count once."""
    with suppress(InputError):
        yield from (path for path in capture_paths(place) if _visible(path.name))
