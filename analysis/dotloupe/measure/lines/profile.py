"""A line found on its ground: polarity, lean, and the profile across it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.jackknife import block_lengths, mean_of_blocks
from dotloupe.measure.level_crossing import crossing_between
from dotloupe.measure.line_fit import straight_line
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.upright import upright_profiles

Runs = Literal["vertical", "horizontal"]

SIDE = 0.12
"""Share of the region's width on either side that has to be ground."""
UNEVEN_SIDES = 0.3
"""Difference of the two sides, as a share of the line's depth, that no line on ground shows."""
CLEAR = 6.0
"""A line is there where it differs from its ground by this many times the profile's noise."""
GAP = 0.25
"""Share of the line's depth below which a gap within it makes two lines of it."""
CHUNKS = 16
MIDDLE = (0.4, 0.5, 0.6)
"""Shares of a line's depth at which the borders lie whose middle is taken."""


@dataclass(frozen=True)
class UprightLine:
    """A line in pixels of its region, which is turned so that the line runs along the rows' axis.

    Attributes
    ----------
    darkness : ndarray of shape (h, w)
        Difference from the ground, positive in the line.
    ground : float
        Reflectance of the ground.
    polarity : float
        1 for a line darker than its ground, -1 for a lighter one.
    slope : float
        Columns per row.
    middle : float
        Middle row of the region.
    """

    darkness: FloatArray
    ground: float
    polarity: float
    slope: float
    middle: float

    def profiles(self, blocks: int = 1) -> tuple[FloatArray, FloatArray]:
        """Mean darkness across the line, over blocks of rows: (columns, (blocks, columns))."""
        rows = slice(0, len(self.darkness))
        return upright_profiles(self.darkness, self.slope, self.middle, rows, blocks)

    def upright_rows(self, column: FloatArray) -> FloatArray:
        """Darkness of every row at columns that move with the line: (h, columns)."""
        height, width = self.darkness.shape
        shift = self.slope * (np.arange(height) - self.middle)
        at = np.clip(column + shift[:, None], 0, width - 1.001)
        left = at.astype(np.intp)
        share = at - left
        row = np.arange(height)[:, None]
        return np.asarray(
            (1 - share) * self.darkness[row, left] + share * self.darkness[row, left + 1]
        )


def depth_of(profiles: FloatArray) -> FloatArray:
    """Darkness of the middle of a line: the mean over a fifth of its width at half depth.

    Parameters
    ----------
    profiles : ndarray of shape (..., n)
        Profiles across lines, each with a depth of its own.
    """
    rough = smoothed(profiles)
    place = np.arange(float(profiles.shape[-1]))
    left, right = borders_at(place, rough, rough.max(axis=-1) / 2)
    middle, tenth = (left + right) / 2, np.maximum((right - left) / 10, 0.5)
    held = np.abs(place - middle[..., None]) <= tenth[..., None]
    return np.asarray((profiles * held).sum(axis=-1) / held.sum(axis=-1))


def smoothed(profiles: FloatArray) -> FloatArray:
    """Means over three neighbours along the last axis, with zeros beyond the ends."""
    padded = np.zeros((*profiles.shape[:-1], profiles.shape[-1] + 2))
    padded[..., 1:-1] = profiles
    return np.asarray((padded[..., :-2] + padded[..., 1:-1] + padded[..., 2:]) / 3)


def borders_at(
    position: FloatArray, profiles: FloatArray, level: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Outermost places where profiles, (..., n), each pass their level, from both sides."""
    over = profiles >= np.asarray(level)[..., None]
    last = position.size - 1
    border = np.array([over.argmax(axis=-1), last - over[..., ::-1].argmax(axis=-1)])
    beyond = np.array([np.maximum(border[0] - 1, 0), np.minimum(border[1] + 1, last)])
    left, right = crossing_between(position, profiles, border, beyond, level)
    return left, right


def middle_of(position: FloatArray, profiles: FloatArray) -> FloatArray:
    """Middle between the borders of lines, (..., n), where each is about half as dark as deep."""
    rough = smoothed(profiles)
    levels = np.array(MIDDLE) * depth_of(rough)[..., None]
    left, right = borders_at(position, rough[..., None, :], levels)
    return np.asarray(((left + right) / 2).mean(axis=-1))


def centre_of(
    position: FloatArray, profiles: FloatArray, borders: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Centre of lines' darkness, (..., n), within one width on either side of their middle."""
    left, right = borders
    middle = (left + right) / 2
    reach = np.minimum(right - left, np.minimum(middle - position[0], position[-1] - middle))
    for _ in range(3):
        apart = np.abs(position - middle[..., None])
        weight = profiles * np.minimum(np.maximum(reach[..., None] + 0.5 - apart, 0), 1)
        middle = weight @ position / weight.sum(axis=-1)
    return middle


def upright_line(reflectance: FloatArray, pixels_per_mm: float, runs: Runs) -> UprightLine:
    """Find the one line of a region.

    Raises
    ------
    RegionError
        No line, an edge or a line cut by the region's side, or more than one line.
    """
    if runs not in ("vertical", "horizontal"):
        raise RegionError(f"line: it runs 'vertical' or 'horizontal', not {runs!r}.")
    region = checked_region(reflectance, pixels_per_mm, what="line")
    region = region.T if runs == "horizontal" else region
    height, width = region.shape
    column = (np.arange(width) + 0.5) / width
    left, right = (region[:, side].mean(axis=1) for side in (column < SIDE, column > 1 - SIDE))
    # One ground for both sides: a slope between them would follow the line's own faint skirts
    # and pull the line towards the middle of the region.
    ground = (left + right)[:, None] / 2
    darkness = ground - region
    profile = darkness.mean(axis=0)
    polarity = 1.0 if profile.max() >= -profile.min() else -1.0
    line = UprightLine(polarity * darkness, float(ground.mean()), polarity, 0.0, (height - 1) / 2)
    line = _leaning(line, profile * polarity)
    _check_one_line(line, abs(float(left.mean() - right.mean())))
    return line


def _leaning(line: UprightLine, profile: FloatArray) -> UprightLine:
    """The line with its slope, from the centre of its darkness in chunks of rows.

    The phase of half a cycle over the region follows the centre from chunk to chunk; the noise
    of ground far from the line is then kept out by a second look near the line alone.
    """
    height, width = line.darkness.shape
    chunks = min(CHUNKS, height)
    mean = mean_of_blocks(line.darkness, block_lengths(height, chunks))
    row = (np.arange(chunks) + 0.5) * height / chunks - 0.5 - line.middle
    x, turn, middle = np.arange(width), np.pi / width, float(profile.argmax())
    place = middle + np.angle(mean @ np.exp(1j * turn * (x - middle))) / turn
    slope, at = straight_line(row, place)
    left, right = borders_at(np.arange(float(width)), profile, np.maximum(profile.max() / 2, 1e-12))
    reach = max(float(right - left) - abs(slope) * height, 3.0)
    for _ in range(2):
        apart = x - (at + slope * row)[:, None]
        weight = mean * np.minimum(np.maximum(reach + 0.5 - np.abs(apart), 0), 1)
        total = weight.sum(axis=1)
        if (total <= 0).any():
            break
        step, shift = straight_line(row, (weight * apart).sum(axis=1) / total)
        slope, at = slope + step, at + shift
    return UprightLine(line.darkness, line.ground, line.polarity, float(slope), line.middle)


def _check_one_line(line: UprightLine, uneven: float) -> None:
    position, profiles = line.profiles(8)
    if len(position) < 8:
        raise RegionError("line: it leans so far that it leaves the region; take a wider region.")
    profile = profiles.mean(axis=0)
    rough = smoothed(profile)
    noise = float(np.sqrt(np.mean(profiles.var(axis=0, ddof=1)) / len(profiles)))
    if not rough.max() > max(CLEAR * noise, 1e-9):
        raise RegionError(
            "line: nothing in the region stands clear of the grain; check where the region lies "
            "and, for a coloured line, take the channel that shows it."
        )
    left, right = borders_at(position, profile, rough.max() / 2)
    if uneven > UNEVEN_SIDES * rough.max() or left <= position[1] or right >= position[-2]:
        raise RegionError(
            "line: the ground differs from side to side, as with an edge or a line cut off; "
            "take a region with ground on both sides of one line."
        )
    between = rough[(position > left) & (position < right)]
    if len(between) and between.min() < GAP * rough.max():
        raise RegionError("line: the region holds more than one line; take a narrower region.")
