"""What was done to a picture that was prepared, and what to expect of its print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.prepare import LEAST_DETAIL
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.prepare import AxisSharpening, Content, Prepared

NOTABLE_CLIPPING = 0.001


def prepared_lines(prepared: Prepared, name: str) -> list[str]:
    """Lines for the terminal.

    Parameters
    ----------
    prepared : Prepared
    name : str
        The file that was written.
    """
    rows, columns = prepared.pixels.shape[:2]
    width, height = (n / prepared.ppi * MM_PER_INCH for n in (columns, rows))
    done = f"resampled ({prepared.resize})" if prepared.resize else "not resampled"
    lines = [
        (
            f"{name}: {columns} x {rows} pixels, {8 * prepared.pixels.dtype.itemsize} bits, "
            f"{width:.1f} x {height:.1f} mm at {prepared.ppi:g} ppi; {done}"
        )
    ]
    if prepared.profile_assumed:
        lines.append("The picture has no usable colour profile; sRGB was assumed and embedded.")
    for axis, found in prepared.sharpening.items():
        lines += _sharpening_lines(axis, found, prepared.ppi)
    if prepared.clipped > NOTABLE_CLIPPING:
        lines.append(
            f"Sharpening clips {100 * prepared.clipped:.1f} % of the pixels at black or white."
        )
    lines.append("Print it at 100 %, unscaled, without the driver's sharpening.")
    return lines


def _sharpening_lines(axis: str, found: AxisSharpening, ppi: float) -> list[str]:
    at = np.arange(1.0, found.frequency[-1] + 1e-9)
    curves = {"before": found.before, "sent": found.gain, "expected": found.after}
    table = [f"{'cycles/mm':>12}" + "".join(f"{f:6.0f}" for f in at)]
    for what, curve in curves.items():
        values = np.interp(at, found.frequency, curve)
        table.append(f"{what:>12}" + "".join(f"{v:6.2f}" for v in values))
    mask = found.unsharp
    return [
        (
            f"Sharpened along {axis}: the print is expected to keep half of the contrast up to "
            f"{_half(found.half_after, found)}, {_half(found.half_before, found)} before; halo "
            f"{100 * found.halo_after:.0f} % of an edge's step."
        ),
        *table,
        (
            f"  Nearest unsharp mask: amount {100 * mask.amount:.0f} %, radius "
            f"{mask.radius_mm * ppi / MM_PER_INCH:.2f} pixels."
        ),
    ]


def _half(frequency: float, found: AxisSharpening) -> str:
    if np.isnan(frequency):
        return f"over {found.frequency[-1]:.1f} cycles/mm"
    return f"{frequency:.1f} cycles/mm"


def content_lines(content: Content, richer: Sequence[Content]) -> list[str]:
    """Warn of a framed part that holds too little, and propose others; nothing where it does not.

    Parameters
    ----------
    content : Content
    richer : sequence of Content
        Parts that hold more, the best first.
    """
    if content.enough:
        return []
    words = (
        "This part holds too little fine detail to compare prints. It rises above a print's "
        f"grain up to {content.x:.1f} cycles/mm along x and {content.y:.1f} along y; "
        f"{LEAST_DETAIL:g} are needed."
    )
    if richer:
        places = ", ".join(f"{c.corner_mm[0]},{c.corner_mm[1]}" for c in richer)
        return [words, f"Parts that hold more: --frame-mm {places}."]
    return [words, "No part of this picture holds enough; choose another picture."]
