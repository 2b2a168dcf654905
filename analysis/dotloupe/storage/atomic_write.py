"""Files put in their place whole: written aside, then renamed."""

from __future__ import annotations

import os
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

DEVICES = (("/", "dev"), ("/", "proc"))
"""Folders whose entries stand for streams even where these end in a file."""


@contextmanager
def whole(path: Path) -> Iterator[Path]:
    """Give a path beside a file to write to, and put what was written in the file's place.

    An earlier file stays as it is until then, and for good where the writing fails or is
    interrupted. A link is followed; a device or a pipe is written to as it is.

    Raises
    ------
    InputError
        The file cannot be written; the message says why.
    """
    try:
        if path.parts[:2] in DEVICES or (path.exists() and not path.is_file()):
            yield path
            return
        target = path.resolve() if path.is_symlink() else path
        part = target.with_name(f".part_{os.urandom(4).hex()}{target.suffix[:8]}")
        try:
            yield part
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise _unwritable(path, error) from error


def write_text(path: Path, text: str) -> None:
    """Write a text in UTF-8, whole or not at all.

    Bytes of a file name that are not text stand in it as JSON escapes, which JSON reads back.

    Raises
    ------
    InputError
        As `whole`.
    """
    write_bytes(path, text.encode("utf-8", "backslashreplace"))


def write_bytes(path: Path, content: bytes) -> None:
    """Write bytes, whole or not at all; a file that holds them already is left as it is.

    Raises
    ------
    InputError
        As `whole`.
    """
    if _holds(path, content):
        return
    with whole(path) as part:
        part.write_bytes(content)


def _holds(path: Path, content: bytes) -> bool:
    try:
        there = path.is_file() and path.stat().st_size == len(content)
        return there and path.read_bytes() == content
    except OSError:
        return False


def make_folder(path: Path) -> None:
    """Make a folder where it is missing.

    Raises
    ------
    InputError
        None can be made there.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path}: no folder can be made there ({error.strerror}); choose another"
        ) from error


def _unwritable(path: Path, error: OSError) -> InputError:
    """Error that says why a file cannot be written, and what to do."""
    why = error.strerror or error
    return InputError(f"{path}: cannot be written ({why}); choose another place")
