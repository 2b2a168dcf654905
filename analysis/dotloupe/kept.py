"""Measurements kept between runs, so that a photograph is measured once.

Each lies in a file of its own in the user's cache folder, named by what it came of: the bytes of
the photograph, the program that measured, and the parameters. Files are written aside and renamed,
so that two processes do each other no harm; any of them, or the folder, may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import pickle
from dataclasses import replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from platformdirs import user_cache_path

from dotloupe.errors import InputError
from dotloupe.measurement import Measurement, print_id
from dotloupe.writing import write_bytes

LARGEST_BYTES = 2 * 1024**3
"""Of the folder; beyond it the measurements that were asked for longest ago go."""
NUMERIC_LIBRARIES = ("numpy", "scipy", "opencv-python-headless", "scikit-image", "rawpy")
DIGEST_BYTES = 32
SUFFIX = ".measurement"


def folder() -> Path:
    """Where measurements are kept."""
    return user_cache_path("dotloupe", appauthor=False) / "measurements"


def key_of(path: Path, viewing_distance_mm: float, beside: str = "") -> str | None:
    """Name of a photograph's measurement; None where the file cannot be read.

    `beside` names what else went into it: the picture that it was compared with, the reference
    edge of its camera.
    """
    try:
        with path.open("rb") as file:
            content = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
    return _key(content, path.suffix, viewing_distance_mm, beside)


def is_kept(key: str | None) -> bool:
    """Whether a measurement of this name lies there."""
    return key is not None and _place(key).is_file()


def recall(key: str, path: Path) -> Measurement | None:
    """Return the measurement kept, as one of the file at `path`; None where there is none whole."""
    place = _place(key)
    try:
        stored = place.read_bytes()
        digest, content = stored[:DIGEST_BYTES], stored[DIGEST_BYTES:]
        if hashlib.sha256(content).digest() != digest:
            place.unlink(missing_ok=True)
            return None
        place.touch()
        found: Measurement = pickle.loads(content)  # noqa: S301  whole, and of this very program
    except (OSError, pickle.UnpicklingError, EOFError):
        return None
    return replace(found, path=str(path), print_id=print_id(str(path)))


def keep(measurement: Measurement, viewing_distance_mm: float, beside: str = "") -> None:
    """Keep the measurement of a file that could be read.

    Where the folder cannot be written nothing is kept: the next run takes its time again.
    """
    if not measurement.sha256:
        return
    suffix = Path(measurement.path).suffix
    key = _key(measurement.sha256, suffix, viewing_distance_mm, beside)
    content = pickle.dumps(measurement, protocol=pickle.HIGHEST_PROTOCOL)
    try:
        folder().mkdir(mode=0o700, parents=True, exist_ok=True)
        write_bytes(_place(key), hashlib.sha256(content).digest() + content)
    except (OSError, InputError):
        return


def clear_out(largest_bytes: int = LARGEST_BYTES) -> None:
    """Delete what was asked for longest ago, until the folder is within its size."""
    entries = []
    try:
        for place in folder().iterdir():
            status = place.stat()
            entries.append((status.st_mtime_ns, status.st_size, place))
        total = sum(size for _, size, _ in entries)
        for _, size, place in sorted(entries):
            if total <= largest_bytes:
                break
            place.unlink(missing_ok=True)
            total -= size
    except OSError:
        return


def _place(key: str) -> Path:
    return folder() / f"{key}{SUFFIX}"


def _key(sha256: str, suffix: str, viewing_distance_mm: float, beside: str) -> str:
    parts = (sha256, suffix.lower(), repr(float(viewing_distance_mm)), beside, program())
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


@cache
def program() -> str:
    """Digest of all that makes the numbers: this package's text, and its numeric libraries."""
    digest = hashlib.sha256()
    package = Path(__file__).parent
    for source in sorted(package.rglob("*.py")):
        digest.update(str(source.relative_to(package)).encode() + b"\0" + source.read_bytes())
    for name in NUMERIC_LIBRARIES:
        try:
            digest.update(f"{name} {version(name)}".encode())
        except PackageNotFoundError:
            digest.update(f"{name} unknown".encode())
    return digest.hexdigest()
