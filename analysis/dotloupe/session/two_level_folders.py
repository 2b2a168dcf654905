"""Folders of two levels, `fast/before` and the like: a setting each, crossed by two factors."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dotloupe.errors import InputError
from dotloupe.session.choices import Level
from dotloupe.storage import as_text

USUAL_NAMES = ("outer folder", "inner folder")
"""What the two factors are called where nobody names them."""


def crossed_folders(
    places: Sequence[str | Path], names: Sequence[str] = USUAL_NAMES
) -> tuple[dict[str, list[Path]], dict[str, dict[str, Level]]]:
    """Captures of each setting, and its level of both factors.

    Parameters
    ----------
    places : sequence of str or Path
        Folders of captures, each in a folder that names the first factor's level; or one folder
        alone that holds those.
    names : sequence of str
        What the two factors are called.

    Returns
    -------
    captures : dict of str to list of Path
        By setting, "fast, before".
    levels : dict of str to dict of str to str
        By setting.

    Raises
    ------
    InputError
        A folder that is missing or empty or given twice, or other than two names.
    """
    from dotloupe.capture import capture_paths

    if len(names) != len(USUAL_NAMES):
        raise InputError(
            f"--factors {','.join(names)}: folders have two levels; give two names, as "
            "mode,alignment"
        )
    folders = [Path(place) for place in places]
    if len(folders) == 1:
        folders = _folders_within(folders[0])
    captures: dict[str, list[Path]] = {}
    levels: dict[str, dict[str, Level]] = {}
    for folder in folders:
        place = folder.resolve()
        pair = (as_text(place.parent.name), as_text(place.name))
        setting = ", ".join(pair)
        if setting in captures:
            raise InputError(f"{folder}: {'/'.join(pair)} is there already; rename one or leave it")
        captures[setting] = capture_paths(folder)
        levels[setting] = dict(zip(names, pair, strict=True))
    return captures, levels


def _folders_within(root: Path) -> list[Path]:
    """Folders two levels below one."""
    if not root.is_dir():
        raise InputError(f"{root}: no such folder; check the name")
    found = sorted(p for p in root.glob("*/*") if p.is_dir() and not p.name.startswith("."))
    if not found:
        raise InputError(
            f"{root}: no folders within folders here; sort the captures as fast/before, fast/after"
        )
    return found
