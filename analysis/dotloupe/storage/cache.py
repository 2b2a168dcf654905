"""A cache on disk between runs: of measurements, and of what a report shows of them.

Each lies in a file of its own in the user's cache folder, named by all that it came of: the bytes
of the photograph, parameters, what is drawn, and the program. Files are written aside and renamed,
so that two processes do each other no harm; any of them, or the folder, may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np
from platformdirs import user_cache_path

from dotloupe.errors import InputError
from dotloupe.storage.atomic_write import write_bytes

LARGEST_BYTES = 2 * 1024**3
"""Of the folder; beyond it the least recently used entries are evicted."""
NUMERIC_LIBRARIES = (
    "numpy",
    "scipy",
    "opencv-python-headless",
    "scikit-image",
    "rawpy",
    "tifffile",
    "imagecodecs",
    "pillow",
)
DIGEST_BYTES = 32


def folder() -> Path:
    """Where the cache lies."""
    return user_cache_path("dotloupe", appauthor=False) / "kept"


def cache_key(kind: str, *made_of: Any) -> str:
    """Key of an entry: a digest of all that it is made of, and of the program.

    Parameters
    ----------
    kind : str
        What it is, for a person who looks into the folder.
    *made_of
        Plain values, arrays, days, and dataclasses, lists and mappings of such.

    Raises
    ------
    TypeError
        One of another kind, which has no content to go by.
    """
    content = json.dumps([made_of, program()], default=_plain)
    return f"{hashlib.sha256(content.encode()).hexdigest()}.{kind}"


def file_digest(path: Path) -> str | None:
    """Digest of a file's bytes; None where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def contains(key: str) -> bool:
    """Whether there is an entry of this key, as far as the folder may be looked into."""
    try:
        return (folder() / key).is_file()
    except OSError:
        return False


def load(key: str) -> bytes | None:
    """Content of an entry; None where there is none, or a damaged one."""
    place = folder() / key
    try:
        stored = place.read_bytes()
        digest, content = stored[:DIGEST_BYTES], stored[DIGEST_BYTES:]
        if hashlib.sha256(content).digest() != digest:
            place.unlink(missing_ok=True)
            return None
    except OSError:
        return None
    with suppress(OSError):  # one that is another user's is of use all the same
        place.touch()
    return content


def store(key: str, content: bytes) -> None:
    """Store an entry; where the folder cannot be written, nothing is stored.

    Parameters
    ----------
    key : str
    content : bytes
    """
    try:
        folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        write_bytes(folder() / key, hashlib.sha256(content).digest() + content)
    except (OSError, InputError):
        return


def evict(largest_bytes: int = LARGEST_BYTES) -> None:
    """Evict the least recently used entries until the folder is within its size."""
    entries = []
    with suppress(OSError):
        for place in folder().iterdir():
            with suppress(OSError):
                status = place.stat()
                entries.append((status.st_mtime_ns, status.st_size, place))
    total = sum(size for _, size, _ in entries)
    for _, size, place in sorted(entries):
        if total <= largest_bytes:
            break
        with suppress(OSError):  # one that cannot be deleted stops no other
            place.unlink(missing_ok=True)
            total -= size


@cache
def program() -> str:
    """Digest of all that makes the numbers: this package's text, and its numeric libraries."""
    digest = hashlib.sha256()
    package = Path(__file__).parents[1]
    for source in sorted(package.rglob("*.py")):
        digest.update(str(source.relative_to(package)).encode() + b"\0" + source.read_bytes())
    for name in NUMERIC_LIBRARIES:
        digest.update(f"{name} {library_version(name)}".encode())
    return digest.hexdigest()


@cache
def library_version(name: str) -> str:
    """Version of an installed library, as it says it of itself."""
    try:
        return version(name)
    except PackageNotFoundError:
        return "unknown"


def _plain(value: Any) -> Any:
    """Content of what JSON does not know."""
    if isinstance(value, np.ndarray) and not value.dtype.hasobject:
        return [str(value.dtype), value.shape, hashlib.sha256(value.tobytes()).hexdigest()]
    if isinstance(value, np.generic):
        return value.item()
    if is_dataclass(value) and not isinstance(value, type):
        return [type(value).__name__, *(getattr(value, f.name) for f in fields(value))]
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"a {type(value).__name__} has no content for a cache key")
