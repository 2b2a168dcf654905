"""What size a photograph may have, judged by what its file declares before it is decoded."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

SMALLEST_PX = 64
LONGEST_TO_SHORTEST = 30
"""Panoramas end well below; longer pictures are strips that hold no patch."""
MOST_MEGAPIXELS = 500.0
"""Over the largest cameras' and scanners' frames of a patch; a pixel takes three bytes or six."""
MOST_VARIABLE = "DOTLOUPE_MOST_MEGAPIXELS"
"""Environment variable that sets another limit."""


def check_size(path: Path, columns: int, rows: int) -> None:
    """Refuse a picture that is too small, too narrow or too large.

    Raises
    ------
    InputError
        With the size and the limit.
    """
    size = f"{columns} x {rows} pixels"
    shortest, longest = sorted((columns, rows))
    if shortest < SMALLEST_PX:
        raise InputError(
            f"{path}: {size} is too small for a photograph of a print; give the original"
        )
    most = _most_megapixels()
    if columns * rows > most * 1e6:
        raise InputError(
            f"{path}: {size} declared, over the limit of {most:g} megapixels; crop it to the "
            f"patch, or set {MOST_VARIABLE} higher"
        )
    if longest > LONGEST_TO_SHORTEST * shortest:
        raise InputError(f"{path}: {size}, a strip and not a photograph; give the original")


def _most_megapixels() -> float:
    """Limit in force."""
    said = os.environ.get(MOST_VARIABLE, "")
    if not said:
        return MOST_MEGAPIXELS
    try:
        most = float(said)
    except ValueError:
        most = 0.0
    if not most > 0:
        raise InputError(f"{MOST_VARIABLE}={said}: give a number of megapixels above 0")
    return most
