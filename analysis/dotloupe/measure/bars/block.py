"""Where a group of bars lies in its region: its ends, the paper around it, its tilt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.jackknife import FEWEST_BLOCKS, block_lengths, mean_of_blocks
from dotloupe.measure.level_crossing import falls_below
from dotloupe.measure.line_fit import straight_line

ENDS_LIGHTER = 0.25
"""A side shows paper where it is lighter than the group by this share of the whole swing."""
STEEPEST = 0.06
"""Largest tilt looked for, columns per row (3.4 degrees)."""
CLEARANCE = 2.0
"""From half to whole at the ends of the bars, over the way from 50 to 90 %: 2.6 sigma of blur."""
SHORT_CLEARANCE = 1.5
"""The same of short bars: 1.9 sigma, where the outermost row lacks 3 % and their mean under 1."""


@dataclass(frozen=True)
class BarBlock:
    """A group of bars that run along the rows' axis, in pixels of its region.

    Attributes
    ----------
    left, right : float
        Columns of the outer borders of the first and the last bar, at the middle row; the ends
        of the region where the bars fill it.
    top, bottom : float
        Rows between which the bars are whole.
    walled : bool
        True where the bars fill the region from side to side, with no paper to compare to.
    """

    left: float
    right: float
    top: float
    bottom: float
    walled: bool

    @property
    def rows(self) -> slice:
        """Rows that hold bars alone."""
        return slice(int(np.ceil(self.top)), int(np.floor(self.bottom)) + 1)


def moving_mean(profile: FloatArray, width: float) -> tuple[FloatArray, FloatArray]:
    """Means over a window of any width, in steps of a pixel.

    Returns
    -------
    centre, mean : ndarray
        Column of each window's centre, and the mean within it; only whole windows.
    """
    total = np.concatenate([[0.0], np.cumsum(profile)])
    border = np.arange(len(profile) + 1) - 0.5
    centre = np.arange(border[0] + width / 2, border[-1] - width / 2 + 1e-9, 1.0)
    ends = np.interp(np.stack([centre - width / 2, centre + width / 2]), border, total)
    return centre, (ends[1] - ends[0]) / width


def find_block(region: FloatArray, period_px: float, bars_drawn: int | None) -> BarBlock:
    """Find the group of bars in its region.

    Parameters
    ----------
    region : ndarray of shape (h, w)
        Reflectance, bars along the rows' axis, tilted by up to two degrees.
    period_px : float
        Length of one line pair.
    bars_drawn : int or None
        Number of dark bars, where it is known.
    """
    height, width = region.shape
    middle = region[height // 4 : height - height // 4].mean(axis=0)
    sides = _dark_range(-middle, period_px, float(np.ptp(middle)))
    if sides is None and bars_drawn is not None:
        sides = _placed_block(-middle, period_px, bars_drawn)
    walled = sides is None
    left, right = sides if sides is not None else (-0.5, width - 0.5)
    inner = slice(max(int(np.ceil(left)), 0), int(np.floor(right)) + 1)
    along = -region[:, inner].mean(axis=1)
    depth = 0.5 * float(np.ptp(middle)) if walled else _depth(-middle, left, right)
    top, bottom = _whole_rows(along, period_px, depth)
    return BarBlock(left, right, top, bottom, walled)


def _depth(darkness: FloatArray, left: float, right: float) -> float:
    """How much darker the mean of the group is than the sides."""
    column = np.arange(len(darkness))
    inside = (column >= left) & (column <= right)
    return float(darkness[inside].mean() - darkness[~inside].mean())


def _dark_range(darkness: FloatArray, period_px: float, swing: float) -> tuple[float, float] | None:
    """Outer borders of the first and last bar, where paper shows on both sides.

    The mean over one period of a group that starts with a bar passes half its depth a quarter of
    a period outside the first bar.
    """
    if len(darkness) < 2 * period_px:
        return None
    centre, mean = moving_mean(darkness, period_px)
    inside = mean.max()
    if min(inside - mean[0], inside - mean[-1]) < ENDS_LIGHTER * swing:
        return None
    peak = int(mean.argmax())
    left = _half_way(centre[: peak + 1], mean[: peak + 1])
    right = _half_way(centre[: peak - 1 : -1] if peak else centre[::-1], mean[peak:][::-1])
    return left + period_px / 4, right - period_px / 4


def _half_way(position: FloatArray, rising: FloatArray) -> float:
    """First position where a rising profile passes half way from its first to its last value."""
    place = float(falls_below(position, -rising, -(rising[0] + rising[-1]) / 2))
    return float(position[0]) if np.isnan(place) else place


def _placed_block(
    darkness: FloatArray, period_px: float, bars_drawn: int
) -> tuple[float, float] | None:
    """Borders of a group of known size in little paper: where its mean is darkest."""
    extent = (bars_drawn - 0.5) * period_px
    if len(darkness) < extent + 0.4 * period_px:
        return None
    centre, mean = moving_mean(darkness, extent)
    best = centre[np.isclose(mean, mean.max(), rtol=0, atol=1e-6 * np.ptp(darkness))].mean()
    left, right = float(best - extent / 2), float(best + extent / 2)
    edge = max(int(min(left, len(darkness) - right) / 2), 1)
    lighter = darkness.mean() - max(darkness[:edge].mean(), darkness[-edge:].mean())
    return (left, right) if lighter > ENDS_LIGHTER * np.ptp(darkness) else None


def _whole_rows(along: FloatArray, period_px: float, depth: float) -> tuple[float, float]:
    """Rows between the ends of the bars, clear of the blur of those ends.

    Short bars are cleared by less, where the full clearance would leave too few rows.
    """
    height = len(along)
    centre, mean = moving_mean(along, min(max(period_px / 2, 3.0), height / 10 + 1))
    inside = float(np.median(mean[len(mean) // 4 : len(mean) - len(mean) // 4]))
    for clearance in (CLEARANCE, SHORT_CLEARANCE):
        near = _end_of_bars(centre, mean, inside, depth, clearance)
        far = _end_of_bars(centre[::-1], mean[::-1], inside, depth, clearance)
        top = -0.5 if near is None else near
        bottom = height - 0.5 if far is None else far
        if bottom - top >= FEWEST_BLOCKS:
            break
    return top, bottom


def _end_of_bars(
    position: FloatArray, mean: FloatArray, inside: float, depth: float, clearance: float
) -> float | None:
    """Row where the bars are whole, coming from one end; None where they reach that end."""
    if inside - mean[0] < 0.5 * depth:
        return None
    levels = mean[0] + np.array([0.5, 0.9]) * (inside - mean[0])
    half, most = (float(position[np.argmax(mean >= level)]) for level in levels)
    clear = clearance * max(abs(most - half), 1.0)
    return half + clear * float(np.sign(position[-1] - position[0]))


def paper_lines(region: FloatArray, block: BarBlock, period_px: float) -> FloatArray:
    """Reflectance that the paper would have under the bars: in each row a line through its sides.

    Row by row, so that what the paper's own grain leaves unsure is seen from row to row.

    Returns
    -------
    ndarray of shape (h, w)
    """
    height, width = region.shape
    x = np.arange(width)
    reach = period_px + STEEPEST / 2 * height
    left = block.left - x > min(reach, 0.6 * max(block.left, 1.0))
    right = x - block.right > min(reach, 0.6 * max(width - block.right, 1.0))
    sides = left | right
    line = np.stack([np.ones(width), (x + 0.5) / width - 0.5])
    weights = np.zeros((width, 2))
    weights[sides] = np.linalg.pinv(line[:, sides])
    return np.asarray(region @ weights @ line)


def block_tilt(darkness: FloatArray, block: BarBlock) -> tuple[float, float, float]:
    """Tilt and place of a group as a whole, whether its bars can be seen or not.

    A frequency of half a cycle over the group follows the centre of its darkness from row to
    row. Blur that is even to both sides does not move it.

    Returns
    -------
    slope, centre, error : float
        Columns per row; column of the group's centre at the middle of its rows; the standard
        error of that column.
    """
    rows = darkness[block.rows]
    column = np.arange(rows.shape[1])
    middle = (block.left + block.right) / 2
    turn = np.pi / (block.right - block.left)
    lengths = block_lengths(len(rows), min(16, len(rows)))
    mean = mean_of_blocks(rows, lengths)
    place = middle - np.angle(mean @ np.exp(-1j * turn * (column - middle))) / turn
    along = np.cumsum(lengths) - lengths / 2 - len(rows) / 2
    slope, centre = straight_line(along, place)
    rest = place - slope * along - centre
    error = np.sqrt(rest @ rest / (len(place) - 2) / len(place))
    slope = float(np.clip(slope, -STEEPEST, STEEPEST))
    return slope, float(centre), float(error)
