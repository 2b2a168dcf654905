"""One photograph given to two settings, found before anything is measured."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from dotloupe.errors import InputError


def refuse_duplicates(settings: Mapping[str, Sequence[Path]]) -> None:
    """Refuse a photograph whose bytes lie in two settings; only files of one size are read.

    Raises
    ------
    InputError
        Names both files.
    """
    by_size: dict[int, list[tuple[str, Path]]] = {}
    for setting, paths in settings.items():
        for path in paths:
            if path.is_file():
                by_size.setdefault(path.stat().st_size, []).append((setting, path))
    for alike in by_size.values():
        if len({setting for setting, _ in alike}) > 1:
            _compare(alike)


def _compare(alike: Sequence[tuple[str, Path]]) -> None:
    first: dict[str, tuple[str, Path]] = {}
    for setting, path in alike:
        try:
            with path.open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            # reading it to measure it says why
            continue
        owner, other = first.setdefault(digest, (setting, path))
        # one file that a plan names for several runs may show a patch of each
        if owner != setting and path != other:
            raise InputError(
                f"{path}: the same photograph as {other}, so that {owner} and {setting} would "
                "share a print; keep it in one of them"
            )
