"""A printed line: where it lies, how wide it is and how ragged, below the size of a pixel.

Width and raggedness are analogous to those of ISO/IEC 13660:2001 (from memory): raggedness is
the standard deviation of the contour at 60 % of the way from paper to line about its fitted
straight line. The camera's blur and noise stay in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.measure.jackknife import in_blocks, jackknife, left_out
from dotloupe.measure.line_fit import straight_line
from dotloupe.measure.lines.profile import (
    Runs,
    UprightLine,
    borders_at,
    centre_of,
    depth_of,
    middle_of,
    upright_line,
)
from dotloupe.measure.uncertainty import Uncertainty

RAGGED_AT = 0.6
"""Contour of the raggedness, from paper (0) to line (1): R60 of ISO/IEC 13660 (from memory)."""
NARROW_PX = 4.0


@dataclass(frozen=True)
class NarrowLine(Caution):
    """The line is few pixels wide."""

    pixels: float


@dataclass(frozen=True)
class PrintedLine:
    """One line on even ground.

    Attributes
    ----------
    position_mm : float
        Centre of its darkness, at the middle row (column) of the region, from the region's left
        (top) edge.
    position_interval : (float, float)
        95 % interval, from blocks of rows along the line.
    middle_mm : float
        Middle between its borders at about half its depth, which leaves its faint skirts out.
    position_uncertainty, middle_uncertainty : Uncertainty
        In mm, standard error and degrees of freedom.
    width_um, width_interval : float, (float, float)
        Distance of the borders at half depth.
    raggedness_um, raggedness_interval : float, (float, float)
        Root mean square departure of both borders from straight lines.
    width_uncertainty, raggedness_uncertainty : Uncertainty
        What those intervals were made of.
    depth : float
        How much darker than its ground the line is, in reflectance; negative for a lighter line.
    tilt_deg : float
        Positive where position grows along the line.
    across_mm, profile : ndarray of shape (n,)
        Mean reflectance across the line, to be drawn.
    cautions : tuple of Caution
        What a reader of the numbers should know.
    """

    position_mm: float
    position_interval: Interval
    position_uncertainty: Uncertainty
    middle_mm: float
    middle_uncertainty: Uncertainty
    width_um: float
    width_interval: Interval
    width_uncertainty: Uncertainty
    raggedness_um: float
    raggedness_interval: Interval
    raggedness_uncertainty: Uncertainty
    depth: float
    tilt_deg: float
    across_mm: FloatArray
    profile: FloatArray
    cautions: tuple[Caution, ...]


def printed_line(
    reflectance: FloatArray, pixels_per_mm: float, *, runs: Runs = "vertical"
) -> PrintedLine:
    """Measure one near-vertical or near-horizontal line.

    Parameters
    ----------
    reflectance : ndarray of shape (h, w)
        Linear reflectance of one line that runs through the region, with ground on both sides,
        in the colour channel that shows it best; darker or lighter than its ground.
    pixels_per_mm : float
        Sampling of the region.
    runs : {"vertical", "horizontal"}
        The direction in which the line runs.

    Returns
    -------
    PrintedLine

    Raises
    ------
    RegionError
        No line, a line cut by the region's side, more than one line, or a region that cannot be
        measured at all.
    """
    line = upright_line(reflectance, pixels_per_mm, runs)
    position, (profile,) = line.profiles()
    depth = depth_of(profile)
    centre, width, middle = (float(number) for number in _places(position, profile, depth))
    off_line = _off_straight(_contours(line, position, profile, depth))
    probe = off_line.mean(axis=1)
    off_square = in_blocks(np.mean(off_line**2, axis=1), probe)
    at, profiles = line.profiles(len(off_square))
    without = left_out(profiles)
    centres, widths, middles = _places(at, without, depth_of(without))
    ragged = float(np.sqrt(off_square.mean()))
    width_error, ragged_error = jackknife(widths), jackknife(np.sqrt(left_out(off_square)))
    at_error, middle_error = (jackknife(v).scaled(1 / pixels_per_mm) for v in (centres, middles))
    um = 1000 / pixels_per_mm
    at_mm, middle_mm = (centre + 0.5) / pixels_per_mm, (middle + 0.5) / pixels_per_mm
    return PrintedLine(
        position_mm=at_mm,
        position_interval=_around(at_mm, at_error.half_width),
        position_uncertainty=at_error,
        middle_mm=middle_mm,
        middle_uncertainty=middle_error,
        width_um=width * um,
        width_interval=_around(width * um, width_error.half_width * um),
        width_uncertainty=width_error.scaled(um),
        raggedness_um=ragged * um,
        raggedness_interval=_around(ragged * um, ragged_error.half_width * um),
        raggedness_uncertainty=ragged_error.scaled(um),
        depth=line.polarity * float(depth),
        tilt_deg=math.degrees(math.atan(line.slope)),
        across_mm=(position + 0.5) / pixels_per_mm,
        profile=line.ground - line.polarity * profile,
        cautions=(NarrowLine(width),) if width < NARROW_PX else (),
    )


def _around(value: float, half: float) -> Interval:
    return value - half, value + half


def _places(
    position: FloatArray, profiles: FloatArray, depth: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Centre of darkness, width and middle between the borders of lines, (..., n), in pixels."""
    borders = borders_at(position, profiles, depth / 2)
    centre = centre_of(position, profiles, borders)
    return centre, borders[1] - borders[0], middle_of(position, profiles)


def _contours(
    line: UprightLine, position: FloatArray, profile: FloatArray, depth: FloatArray
) -> FloatArray:
    """Both borders in every row, moved upright: shape (h, 2).

    A border is taken by how far the row stays over the contour's level from inside the line to
    the ground, so that a single speck does not pass for it.
    """
    level = RAGGED_AT * depth
    left, right = (float(border) for border in borders_at(position, profile, level))
    middle, reach = (left + right) / 2, right - left
    inner = min(reach / 2, middle - position[0], position[-1] - middle)
    away = np.arange(0, inner + reach / 2 + 1)
    to_left, to_right = (
        _length_over(line, middle + side * away, float(level), position) for side in (-1, 1)
    )
    return np.stack([middle - to_left, middle + to_right], axis=1)


def _length_over(
    line: UprightLine, column: FloatArray, level: float, position: FloatArray
) -> FloatArray:
    """Length over which each row is darker than the level, along a run of columns."""
    held = (column >= position[0]) & (column <= position[-1])
    over = line.upright_rows(column[held]) - level
    before, after = over[:, :-1], over[:, 1:]
    apart = np.where(before == after, 1.0, np.abs(after - before))
    share = np.where((before > 0) == (after > 0), before > 0, np.maximum(before, after) / apart)
    return np.asarray(share.sum(axis=1))


def _off_straight(contours: FloatArray) -> FloatArray:
    """Contours less their fitted straight lines."""
    row = np.linspace(-1, 1, len(contours))
    slope, level = straight_line(row, contours)
    return np.asarray(contours - np.outer(row, slope) - level)
