"""What a bundle holds, and what anybody who opens it learns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import PurePath

from dotloupe.report.text.phrases import counted, listed, quoted

MEGABYTE = 1e6
MOST_NAMED = 3


def bundle_lines(
    name: str,
    *,
    settings: Sequence[str],
    photographs: int,
    size_bytes: int,
    changed: float,
    left_out: Sequence[str],
) -> list[str]:
    """Lines for the terminal.

    Parameters
    ----------
    name : str
        Of the bundle.
    settings : sequence of str
        Whose names are in it.
    photographs, size_bytes : int
    changed : float
        Largest change of a number by the reduction, in half-widths of its interval.
    left_out : sequence of str
        Paths of photographs that are not in it.
    """
    named = listed(map(quoted, settings))
    lines = [
        f"{name}: {counted(photographs, 'photograph')}, {size_bytes / MEGABYTE:.1f} MB.",
        _change(changed),
        f"Anybody can read the note and the names of the settings, {named}.",
    ]
    if left_out:
        names = listed(PurePath(path).name for path in left_out[:MOST_NAMED])
        more = len(left_out) - MOST_NAMED
        rest = f" and {more} more" if more > 0 else ""
        lines.append(f"Left out, because no patch was measured on them: {names}{rest}.")
    return lines


def _change(changed: float) -> str:
    if changed == 0:
        return "Every number is the same as on the whole photographs."
    if math.isinf(changed):
        return "Some numbers of the whole photographs cannot be measured on the reduced ones."
    return (
        f"Numbers changed by at most {100 * changed:.2g} % of the half-width of their interval "
        "against the whole photographs."
    )
