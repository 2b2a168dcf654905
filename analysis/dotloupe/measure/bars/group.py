"""A group of bars made ready to be read: its comb, and its harmonics in blocks of rows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.bars.block import BarBlock, block_tilt, find_block, paper_lines
from dotloupe.measure.bars.count import bars_on_paper
from dotloupe.measure.bars.harmonics import (
    Comb,
    block_harmonics,
    leaning,
    walled_comb,
    walled_harmonics,
)
from dotloupe.measure.bars.profile import fitted_bars, near_group
from dotloupe.measure.jackknife import FEWEST_BLOCKS, block_lengths, in_blocks, mean_of_blocks
from dotloupe.measure.upright import upright_profiles

CLEAR = 4.0
"""Standard errors at which a group, or its first harmonic, stands clear of the grain."""
PERIOD_ERROR = 0.005
"""A period found is used where its standard error is below this share."""
PERIOD_WITHIN = 0.03
"""And where it lies within this share of the one asked for."""
UNCOUNTED = 1.5
"""Periods of paper beside a group under which bars that fit no period are not counted."""
LEAST_PAPER = 2.8
"""Paper beside a group, in sigmas of its blur: with less, contrast is off by up to 2 % or more."""


@dataclass(frozen=True)
class BarGroup:
    """A group of bars, in pixels of its region.

    Attributes
    ----------
    comb : Comb
        Frequency, lean and place of the bars; `centre` is the middle bar as drawn, the right
        one of the middle two, or the region's middle where that is not known.
    rows : slice
        Rows that hold bars alone.
    harmonics : ndarray of complex, shape (blocks, harmonics + 1)
        Mean darkness and harmonics about `comb.centre`, in blocks of rows.
    paper : ndarray of shape (blocks,)
        The reflectance from which darkness is counted, in each block.
    bars : int or None
        Number of bars drawn; None for bars that fill their region.
    frequency_found : float or None
        Cycles per pixel.
    """

    comb: Comb
    rows: slice
    harmonics: FloatArray
    paper: FloatArray
    bars: int | None
    frequency_found: float | None

    @property
    def first_bar(self) -> float | None:
        """Column of the first bar's centre as drawn, at the middle row."""
        if self.bars is None:
            return None
        return self.comb.centre - self.bars // 2 / self.comb.row_frequency


def bar_group(
    region: FloatArray, period_px: float, bars_drawn: int | None, *, placed: bool = False
) -> BarGroup:
    """Find the group in its region and take its harmonics.

    Parameters
    ----------
    region : ndarray, shape (rows, columns)
        Bars that run along the columns.
    period_px : float
        Of the bars as drawn.
    bars_drawn : int or None
        None where it is not known.
    placed : bool
        It is known where the bars were drawn, so that little paper beside them refuses none.

    Raises
    ------
    RegionError
        Nothing there but even paper and grain, or bars too short.
    """
    if _even(region):
        raise RegionError(
            "line pairs: the region is even, it holds neither bars nor the outline of a group; "
            "check where the region lies."
        )
    block = find_block(region, period_px, bars_drawn)
    if block.rows.stop - block.rows.start < FEWEST_BLOCKS:
        raise RegionError(
            f"line pairs: the bars are too short: clear of the blur at their ends, fewer than "
            f"{FEWEST_BLOCKS} rows of pixels hold whole bars; photograph closer."
        )
    if block.walled:
        return _walled(region, block, period_px, bars_drawn)
    return _on_paper(region, block, period_px, bars_drawn, placed=placed)


def clear_of_grain(harmonics: FloatArray) -> bool:
    """Whether the first harmonic is more than the grain would make by itself."""
    first = harmonics[:, 1]
    error = np.sqrt(np.mean(np.abs(first - first.mean()) ** 2) / (len(first) - 1))
    return bool(abs(first.mean()) > CLEAR * error / np.sqrt(2))


def _on_paper(
    region: FloatArray,
    block: BarBlock,
    period_px: float,
    bars_drawn: int | None,
    *,
    counted: bool = False,
    placed: bool = False,
) -> BarGroup:
    bars = bars_drawn or max(round((block.right - block.left) / period_px + 0.5), 1)
    lines = paper_lines(region, block, period_px)
    darkness = lines - region
    rows, middle = block.rows, (region.shape[0] - 1) / 2
    slope, centre, error = block_tilt(darkness, block)
    centre += slope * (middle - (rows.start + rows.stop - 1) / 2)
    comb = _comb_of(bars, Comb(1 / period_px, slope, centre, middle))
    reach = 1.5 * period_px + abs(slope) * len(region) / 2
    columns = slice(
        max(int(block.left - reach), 0), min(int(block.right + reach) + 2, region.shape[1])
    )
    harmonics = block_harmonics(darkness, comb, rows, columns, bars)
    found = None
    if clear_of_grain(in_blocks(harmonics, harmonics[:, 1])):
        slope_error = 3.5 * error / (rows.stop - rows.start)
        comb = replace(comb, slope=leaning(harmonics, comb, rows, slope_error))
        position, profiles = upright_profiles(region, comb.slope, middle, rows)
        near = near_group(position, centre, period_px, bars)
        number = np.arange(bars) - (bars - 1) / 2
        fit = fitted_bars(position[near], profiles[0][near], centre, period_px, number)
        beside = min(centre + 0.5, region.shape[1] - 0.5 - centre) - (bars - 0.5) / 2 * period_px
        if fit.error < PERIOD_ERROR * fit.period:
            if not placed:  # where the bars were drawn, the paper beside them decides nothing
                _check_paper(beside, period_px, fit.softness)
            found = float(np.hypot(1.0, comb.slope) / fit.period)
            if abs(found * period_px - 1) < PERIOD_WITHIN:
                comb = _comb_of(bars, replace(comb, frequency=found, centre=centre))
        elif (counted or bars_drawn is None) and beside < UNCOUNTED * period_px:
            raise RegionError(
                "line pairs: the bars cannot be counted in so little paper; take a larger region, "
                "or state the number of bars."
            )
        harmonics = block_harmonics(darkness, comb, rows, columns, bars)
    under = int(np.clip(round(centre), 0, region.shape[1] - 1))
    blocks = in_blocks(np.column_stack([harmonics, lines[rows, under]]), harmonics[:, 1])
    return BarGroup(comb, rows, blocks[:, :-1], blocks[:, -1].real, bars, found)


def _comb_of(bars: int, comb: Comb) -> Comb:
    """Comb about a group's centre moved to a bar: an even number has a space in its middle."""
    return comb if bars % 2 else replace(comb, centre=comb.centre + 0.5 / comb.row_frequency)


def _check_paper(beside: float, period_px: float, softness: float) -> None:
    """Refuse a group whose blur reaches over the little paper beside it."""
    if beside < min(LEAST_PAPER * softness, period_px):
        raise RegionError(
            "line pairs: the blur of the outermost bars reaches the ends of the region; "
            "take a larger region, with at least a period of paper on both sides."
        )


def _walled(
    region: FloatArray, block: BarBlock, period_px: float, bars_drawn: int | None
) -> BarGroup:
    rows = block.rows
    comb = walled_comb(-region, 1 / period_px, rows)
    comb = replace(
        comb,
        centre=comb.centre + comb.slope * ((len(region) - 1) / 2 - comb.middle),
        middle=(len(region) - 1) / 2,
    )
    width = region.shape[1]
    by_row = walled_harmonics(-region, comb, rows, slice(0, width))
    if clear_of_grain(in_blocks(by_row, by_row[:, 1])):
        phase = float(-np.angle(by_row[:, 1].mean()))
        if bars_drawn is None:
            period = 1 / comb.row_frequency
            bar = comb.centre + phase / (2 * np.pi) * period
            position, profiles = upright_profiles(region, comb.slope, comb.middle, rows)
            bars = bars_on_paper(position, profiles[0], bar, period)
            placed = None if bars is None else find_block(region, period_px, bars)
            if placed is not None and not placed.walled:
                return _on_paper(region, placed, period_px, bars, counted=True)
        columns = _whole_periods(comb, phase, width)
        by_row = walled_harmonics(-region, comb, rows, columns)
        return _without_paper(comb, rows, by_row, comb.frequency)
    plain = replace(comb, frequency=1 / period_px, slope=0.0)
    by_row = walled_harmonics(-region, plain, rows, slice(0, width))
    return _without_paper(plain, rows, by_row, None)


def _without_paper(
    comb: Comb, rows: slice, by_row: FloatArray, frequency_found: float | None
) -> BarGroup:
    blocks = in_blocks(by_row, by_row[:, 1])
    return BarGroup(comb, rows, blocks, np.zeros(len(blocks)), None, frequency_found)


def _whole_periods(comb: Comb, phase: float, width: int) -> slice:
    """Columns from the first centre of a space to the last, so that bars at the rim are whole."""
    period = 1 / comb.row_frequency
    space = comb.centre + (phase / (2 * np.pi) + 0.5) * period
    first = space + period * np.ceil((-0.5 - space) / period)
    last = space + period * np.floor((width - 0.5 - space) / period)
    if last - first < 2 * period:
        return slice(0, width)
    return slice(round(first + 0.5), round(last + 0.5))


def _even(region: FloatArray) -> bool:
    """Whether columns differ no more than the grain in them makes them differ."""
    means = mean_of_blocks(region, block_lengths(len(region), 8))
    bend = _bend(region.shape[1])
    means = means - means @ bend @ bend.T
    grain = float(np.mean(means.var(axis=0, ddof=1))) / len(means)
    return float(np.mean(means.mean(axis=0) ** 2)) <= 2.0 * grain + 1e-12


@lru_cache(maxsize=128)
def _bend(columns: int) -> FloatArray:
    """Level, slope and bend over so many columns as orthonormal vectors, shape (columns, 3)."""
    return np.asarray(np.linalg.qr(np.vander(np.linspace(-1, 1, columns), 3))[0])
