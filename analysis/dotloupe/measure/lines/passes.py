"""Doubled lines: two passes of the head that do not meet, seen as two steps at every border."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.jackknife import in_blocks, jackknife, left_out
from dotloupe.measure.lines.profile import Runs, borders_at, depth_of, upright_line
from dotloupe.measure.soft_borders import SoftBorders, soft_borders
from dotloupe.measure.uncertainty import Uncertainty, normal_uncertainty

SEEN_FROM = 2.0
"""Two equal Gaussian steps have two peaks of slope where they lie more than two sigma apart;
below that, blur of another shape could pass for doubling."""
FARTHEST = 0.7
"""Passes overlap by more than a quarter of their width; two lines side by side are no doubling."""
LEAST_DIP = 0.15
"""Least fall of the slope between the two steps, as a share of the slope at the steps."""
CLEAR = 4.0
"""Standard errors by which that fall has to stand clear of the grain."""
STEP_WINDOW = 1 / 3
"""Window over which slopes are taken, as a share of the offset."""
LEAST_BLUR_PX = 0.3
SIDES = np.array([-0.5, -0.5, 0.5, 0.5])
"""Borders from the middle of their line, in widths: left of the first line and of the second, and
right of both."""
SECOND = np.array([0.0, 1.0, 0.0, 1.0])
"""Which of these belong to the second line."""
FIRST_LINE = np.array([1.0, 0.0, -1.0, 0.0])
"""Darkness gained at them where all ink is in the first line."""
MOVED_OVER = np.array([-1.0, 1.0, 1.0, -1.0])
"""What more is gained where all of it is in the second."""
SCALES = np.array([0.1, 0.1, 1.0, 1.0, 1.0, 1.0, 0.5])
"""Sizes of the fit's parameters: reflectance, pixels, and a share."""


@dataclass(frozen=True)
class Doubling:
    """Offset between two passes of one line.

    Attributes
    ----------
    seen : bool
        Whether the borders show two steps that no even blur would make.
    offset_um, interval : float, (float, float)
        Distance between the passes with its 95 % interval, where seen; otherwise 0 and the
        largest offset that would have stayed unseen.
    uncertainty : Uncertainty
        What the interval was made of.
    share : float
        Part of the ink in the second pass, farther along the axis.
    across_mm, profile : ndarray of shape (n,)
        Darkness across the line, to be drawn.
    """

    seen: bool
    offset_um: float
    interval: Interval
    uncertainty: Uncertainty | None
    share: float
    across_mm: FloatArray
    profile: FloatArray


def doubling(reflectance: FloatArray, pixels_per_mm: float, *, runs: Runs = "vertical") -> Doubling:
    """Measure the offset between two passes that printed one line.

    Parameters
    ----------
    reflectance, pixels_per_mm, runs
        As for `printed_line`.

    Returns
    -------
    Doubling

    Raises
    ------
    RegionError
        As `printed_line` does.

    Notes
    -----
    Two lines of one width and one Gaussian blur, apart by the offset, are fitted to the mean
    profile. The fit alone proves nothing, since a border blurred by a disc fits two steps better
    than one; the offset counts as seen where the slope of both borders falls between two steps.
    """
    line = upright_line(reflectance, pixels_per_mm, runs)
    position, (profile,) = line.profiles()
    in_line = line.darkness.mean(axis=0) > 0.2 * float(depth_of(profile))
    probe = line.darkness[:, in_line].mean(axis=1)
    blocks = len(in_blocks(probe, probe))
    at, parts = line.profiles(blocks)
    without = left_out(parts)
    single, double = _fit(position, profile, doubled=False), _fit(position, profile, doubled=True)
    offset = float(abs(double[5]))
    told_apart = SEEN_FROM * abs(double[4]) < offset < FARTHEST * abs(double[3])
    seen = told_apart and _steps_apart(position, at, profile, without, double)
    um = 1000 / pixels_per_mm
    largest = float(SEEN_FROM * abs(single[4]) * um)
    interval, uncertainty = (0.0, largest), normal_uncertainty((0.0, largest))
    if seen:
        refits = [_fit(at, part, doubled=True, start=double) for part in without]
        error = jackknife(np.array([abs(p[5]) for p in refits]))
        half = error.half_width * um
        interval, uncertainty = (offset * um - half, offset * um + half), error.scaled(um)
    share = float(np.clip(double[6] if double[5] > 0 else 1 - double[6], 0, 1))
    return Doubling(
        seen=seen,
        offset_um=offset * um if seen else 0.0,
        interval=interval,
        uncertainty=uncertainty,
        share=share if seen else 0.0,
        across_mm=(position + 0.5) / pixels_per_mm,
        profile=profile,
    )


def _steps_apart(
    position: FloatArray,
    at: FloatArray,
    profile: FloatArray,
    without: FloatArray,
    double: FloatArray,
) -> bool:
    """Whether the slope of the borders falls between the two steps, clear of the grain."""
    fall, slope = _fall_between(position, profile, double)
    falls = np.array([_fall_between(at, part, double)[0] for part in without])
    error = jackknife(falls).half_width / 2
    return fall > max(LEAST_DIP * slope, CLEAR * error)


def _fall_between(x: FloatArray, profile: FloatArray, p: FloatArray) -> tuple[float, float]:
    """Fall of the slope from the weaker step to the place between the steps, and that slope.

    Mean of both borders.
    """
    _, _, middle, width, _, offset, share = p
    steps = np.array([-share * offset, (0.5 - share) * offset, (1 - share) * offset])
    half = STEP_WINDOW * abs(offset) / 2
    borders = middle + np.array([[-width / 2], [width / 2]]) + steps
    rise = np.interp(borders + half, x, profile) - np.interp(borders - half, x, profile)
    first, between, second = np.abs(rise).mean(axis=0) / (2 * half)
    return float(min(first, second) - between), float(min(first, second))


def _borders(p: FloatArray, x: FloatArray) -> SoftBorders:
    """Left borders of both lines, then their right ones."""
    _, _, middle, width, sigma, offset, share = p.tolist()
    at = middle + width * SIDES + offset * (SECOND - share)
    return soft_borders(x, at, sigma, LEAST_BLUR_PX)


def _two_lines(p: FloatArray, borders: SoftBorders) -> FloatArray:
    """Darkness of two blurred lines.

    Parameters: ground, depth, middle, width, sigma, offset, share of the second.
    """
    return np.asarray(p[0] + p[1] * (_steps(p[6]) @ borders.passed))


def _steps(share: float) -> FloatArray:
    """Darkness gained at each border, as a share of the depth."""
    return np.asarray(FIRST_LINE + share * MOVED_OVER)


def _slopes(p: FloatArray, borders: SoftBorders) -> FloatArray:
    """Derivatives of `_two_lines` by its parameters, shape (7, n)."""
    _, depth, _, _, sigma, offset, share = p.tolist()
    steps, bells = _steps(share), borders.bells
    moved = -depth * steps
    slopes = np.empty((7, bells.shape[1]))
    slopes[0] = 1.0
    slopes[1] = steps @ borders.passed
    slopes[[2, 3, 5]] = np.array([moved, moved * SIDES, moved * (SECOND - share)]) @ bells
    slopes[4] = moved * (sigma / borders.sigma) @ (bells * borders.distance)
    slopes[6] = depth * (MOVED_OVER @ borders.passed) - offset * slopes[2]
    return slopes


def _fit(
    x: FloatArray, profile: FloatArray, *, doubled: bool, start: FloatArray | None = None
) -> FloatArray:
    """Parameters of `_two_lines` that fit a profile best; offset 0 for a single line."""
    from scipy.optimize import leastsq

    depth = float(depth_of(profile))
    levels = depth * np.array([0.8, 0.5, 0.2])
    left, right = borders_at(x, np.tile(profile, (3, 1)), levels)
    rise = max(float(left[0] - left[2] + right[2] - right[0]) / 2, 1.0)
    middle, width = float(left[1] + right[1]) / 2, float(right[1] - left[1])
    free = 7 if doubled else 5
    guesses = ((0.6, 0.1), (0.2, 0.8)) if doubled else ((0.6, 0.0),)
    starts = [
        np.array([0.0, depth, middle, width, softness * rise, offset * rise, 0.5])
        for softness, offset in guesses
    ]

    def whole(p: FloatArray) -> FloatArray:
        return p if doubled else np.concatenate([p, starts[0][free:]])

    @lru_cache(maxsize=1)  # slopes are asked for where the misfit was just before
    def borders(parameters: bytes) -> SoftBorders:
        return _borders(whole(np.frombuffer(parameters)), x)

    fits = [
        leastsq(
            lambda p: _two_lines(whole(p), borders(p.tobytes())) - profile,
            s[:free],
            Dfun=lambda p: _slopes(whole(p), borders(p.tobytes()))[:free],
            col_deriv=True,
            full_output=True,
            diag=1 / SCALES[:free],
        )
        for s in ([start] if start is not None else starts)
    ]
    best = min(fits, key=lambda fit: float(np.sum(fit[2]["fvec"] ** 2)))
    return whole(best[0])
