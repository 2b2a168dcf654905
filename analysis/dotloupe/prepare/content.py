"""Whether a part of a picture holds enough fine detail to compare prints by."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure import falls_below
from dotloupe.prepare.framing import part_in_frame
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from dotloupe.capture import SentPicture
    from dotloupe.patch import Patch

GRAIN_POWER_MM2 = 1e-5
"""Noise power of a print's grain, reflectance^2 mm^2: the middle of simulated inkjet printers at
3 cycles/mm in mid-grey. Where the picture's own power is as much, coherence is at most a half."""
LEAST_DETAIL = 3.0
"""Cycles/mm up to which a part must rise above the grain in both directions."""
BLOCK_MM = 3.0
SECTOR = 0.268
"""Tangent of the 15 degrees about an axis that count for it."""
BIN = 0.5
"""Cycles/mm."""
TRIED_A_SIDE = 8
PROPOSED = 3


@dataclass(frozen=True)
class Content:
    """How fine the content of a framed part is.

    Attributes
    ----------
    corner_mm : (int, int)
        The part's upper left corner in the print.
    x, y : float
        Cycles/mm up to which the power along the axis exceeds that of grain.
    """

    corner_mm: tuple[int, int]
    x: float
    y: float

    @property
    def enough(self) -> bool:
        """Whether prints can be compared by it in both directions."""
        return min(self.x, self.y) >= LEAST_DETAIL


def framed_content(picture: SentPicture, patch: Patch) -> Content:
    """Judge the part of a picture in a frame before it is printed.

    Raises
    ------
    InputError
        As `part_in_frame`.
    """
    ppi = picture.ppi or np.nan
    part = part_in_frame(picture, patch)
    cut = replace(picture, pixels=picture.pixels[part.rows, part.columns])
    x, y = finest_detail(cut.light(), ppi / MM_PER_INCH)
    return Content(patch.corner_mm, x, y)


def richer_parts(picture: SentPicture, patch: Patch) -> list[Content]:
    """Parts of a picture that would tell most, the best first; none that tells too little."""
    ppi = picture.ppi or np.nan
    region = patch.regions["picture"]
    height, width = (n / ppi * MM_PER_INCH for n in picture.shape)
    room = (int(width - region.width_mm) - 1, int(height - region.height_mm) - 1)
    if min(room) < 0:
        return []
    across, down = (
        np.unique(np.linspace(0, most, min(TRIED_A_SIDE, most + 1)).astype(int)).tolist()
        for most in room
    )
    tried = [
        framed_content(picture, replace(patch, corner_mm=(x, y))) for y in down for x in across
    ]
    best = sorted((c for c in tried if c.enough), key=lambda c: -min(c.x, c.y))
    return best[:PROPOSED]


def finest_detail(light: FloatArray, pixels_per_mm: float) -> tuple[float, float]:
    """Cycles/mm along x and y up to which the power spectrum exceeds that of grain.

    Parameters
    ----------
    light : ndarray of shape (rows, columns)
        Linear reflectance, paper = 1.
    pixels_per_mm : float
        On the print.
    """
    side = min(round(BLOCK_MM * pixels_per_mm), *light.shape)
    starts = [np.arange(0, n - side + 1, max(side // 2, 1)) for n in light.shape]
    hann = np.outer(np.hanning(side + 2)[1:-1], np.hanning(side + 2)[1:-1])
    power = np.zeros((side, side // 2 + 1))
    for top in starts[0]:
        for left in starts[1]:
            block = light[top : top + side, left : left + side]
            power += np.abs(np.fft.rfft2((block - block.mean()) * hann)) ** 2
    power /= starts[0].size * starts[1].size * (hann**2).sum() * pixels_per_mm**2
    fy = np.abs(np.fft.fftfreq(side, 1 / pixels_per_mm))[:, None]
    fx = np.fft.rfftfreq(side, 1 / pixels_per_mm)[None, :]
    return _reach(power, fx, fy), _reach(power, fy, fx)


def _reach(power: FloatArray, along: FloatArray, across: FloatArray) -> float:
    """Frequency along an axis where the power first falls to that of grain."""
    near = (across <= SECTOR * along) & (along > 1.0 / BLOCK_MM)
    place = (along / BIN + 0 * across).astype(int)[near]
    count = np.bincount(place)
    held = count > 0
    mean = np.bincount(place, weights=power[near])[held] / count[held]
    frequency = (np.flatnonzero(held) + 0.5) * BIN
    if mean[0] < GRAIN_POWER_MM2:
        return 0.0
    crossing = float(falls_below(frequency, np.log(mean), np.log(GRAIN_POWER_MM2), samples=2))
    return float(frequency[-1]) if np.isnan(crossing) else crossing
