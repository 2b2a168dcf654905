"""Does a region hold one whole, unclipped, slanted edge, and if not, what does it hold."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.edge.cautions import BlurReachesEnds, LightFarFromEdge
from dotloupe.measure.edge.clipping import clipped
from dotloupe.measure.edge.edge_jackknife import BLOCKS, standard_error, student
from dotloupe.measure.edge.joint_fit import EdgeFit
from dotloupe.measure.edge.position import LARGEST_ANGLE_DEG, tilt_message
from dotloupe.measure.edge.spread_function import GAUSSIAN_RISE, spread_basis

FAINTEST_STEP = 5.0
"""Least step of an edge in units of its standard error."""
SECOND_EDGE = 0.2
"""Share of the step that may lie beyond the blur of an edge before it is another edge."""
CUT_BLUR = 0.02
"""Largest slope left at the ends of the region, as a share of the steepest."""
FAR_SHARE = 0.01
"""Share of the step beyond four sigmas that a reader is told of."""
LEAST_ROOM = 2.7
"""Least room on either side of an edge, in sigmas of its steepest part."""
TWO_PASSES_MM = 0.15
"""Two steps farther apart than this are two edges, not two passes of one."""


def check_region(region: FloatArray, pixels_per_mm: float) -> None:
    """Refuse what is not a 2-D array of finite numbers, large enough for an edge."""
    if not (np.isfinite(pixels_per_mm) and pixels_per_mm > 0):
        raise RegionError(f"pixels_per_mm must be a positive number, not {pixels_per_mm}")
    if region.ndim != 2 or min(region.shape) < BLOCKS:
        raise RegionError(
            f"an edge needs a 2-D region of at least {BLOCKS} x {BLOCKS} pixels; "
            f"this one has the shape {region.shape}"
        )
    if region.dtype.kind not in "fiu":
        raise RegionError(f"an edge needs numbers, not values of type {region.dtype}")
    if not np.isfinite(region).all():
        raise RegionError("the region holds missing values (NaN or infinite); choose a whole one")


def why_no_line(region: FloatArray) -> str:
    """Say what a region shows in which no single slanted edge could be followed.

    The structure tensor of the smoothed region gives the direction its contrast runs in, and
    how far it keeps to one; the sign of the gradient tells one edge from two.
    """
    size = max(3, min(region.shape) // 16)
    smooth = _box_mean(region, size)
    across, down = np.gradient(smooth, axis=1).ravel(), np.gradient(smooth, axis=0).ravel()
    xx, yy, xy = (across**2).sum(), (down**2).sum(), (across * down).sum()
    energy = xx + yy
    if energy <= 0 or np.ptp(smooth) < 12.0 * _white_noise(region) / size:
        return "no edge found: the region is flat; choose a region with one straight edge"
    coherence = float(np.hypot(xx - yy, 2 * xy) / energy)
    turn = 0.5 * np.arctan2(2 * xy, xx - yy)
    angle = float(np.degrees(min(abs(turn), np.pi / 2 - abs(turn))))
    if coherence < 0.6:
        return (
            "no single straight edge runs through the region from end to end; "
            "choose a region with one edge in its middle"
        )
    if angle > LARGEST_ANGLE_DEG:
        return tilt_message(angle)
    along = across * np.cos(turn) + down * np.sin(turn)
    polarity = abs(float((along * np.abs(along)).sum() / (along**2).sum()))
    if polarity < 0.5:
        return "the region holds two or more edges; choose a region with one"
    return (
        "the edge lies too near the border of the region; "
        "choose a region with the edge in its middle"
    )


def check_fit(
    distance: FloatArray, value: FloatArray, fit: EdgeFit, pixels_per_mm: float
) -> tuple[Caution, ...]:
    """Refuse a fit that is not one of a single whole edge; say what makes it doubtful."""
    step = fit.spread.step
    error = float(standard_error(fit.levels[:, -1] - fit.levels[:, 0]))
    if abs(step) < FAINTEST_STEP * error:
        raise RegionError(
            "no edge stands out of the noise of the region; choose a region with one straight edge"
        )
    _check_one_edge(fit, pixels_per_mm)
    if clipped(distance, value, fit):
        raise RegionError(
            "the light or the dark side of the edge is clipped; expose so that neither side is"
        )
    left = _slope_at_end(fit)
    beside = min(fit.width.ten - fit.low, fit.high - fit.width.ninety)
    room = 0.5 * GAUSSIAN_RISE + beside / fit.width.finest
    if left > CUT_BLUR or room < LEAST_ROOM:
        raise RegionError(
            "the edge's blur is wider than the region; choose a region that reaches "
            "at least four times the blur's sigma on both sides"
        )
    cautions: tuple[Caution, ...] = ()
    if left > 0.25 * CUT_BLUR or room < 3.5:
        cautions += (BlurReachesEnds(),)
    beyond = _share_beyond(fit)
    if beyond > FAR_SHARE:
        cautions += (LightFarFromEdge(beyond),)
    return cautions


def _check_one_edge(fit: EdgeFit, pixels_per_mm: float) -> None:
    grid = np.linspace(fit.low, fit.high, 801)
    slope = fit.spread.slope(grid) / fit.spread.step * (grid[1] - grid[0])
    far = np.abs(grid - fit.width.half) > 4.0 * fit.width.sigma
    basis = spread_basis(fit.spread.breaks, grid)
    error = standard_error((fit.levels @ basis.T) / fit.spread.step)
    noise = 4.0 * float(error.max())
    if np.abs(slope[far]).sum() > SECOND_EDGE + noise:
        raise RegionError("the region holds two or more edges; choose a region with one")
    steep = np.nonzero(slope > 0.05 * slope.max())[0]
    gaps = np.diff(steep)
    widest = int(np.argmax(gaps)) if gaps.size else 0
    gap = float(gaps[widest] * (grid[1] - grid[0])) if gaps.size else 0.0
    sides = max(grid[steep[widest]] - grid[steep[0]], grid[steep[-1]] - grid[steep[widest]] - gap)
    if gap > 2.0 * sides and gap > TWO_PASSES_MM * pixels_per_mm:
        raise RegionError("the region holds two or more edges; choose a region with one")


def _slope_at_end(fit: EdgeFit) -> float:
    """Largest mean slope over an outermost part, significant, as a share of the steepest."""
    grid = np.linspace(fit.low, fit.high, 801)
    steepest = float(np.abs(fit.spread.slope(grid)).max())
    worst = 0.0
    for end, inner in ((fit.low, 0.85 * fit.low), (fit.high, 0.85 * fit.high)):
        basis = spread_basis(fit.spread.breaks, np.array([end, inner]))
        every = fit.levels @ (basis[0] - basis[1])
        rise = abs(float(fit.spread.levels @ (basis[0] - basis[1])))
        if rise > 3.0 * float(standard_error(every)):
            worst = max(worst, rise / (abs(end - inner) * steepest))
    return worst


def _share_beyond(fit: EdgeFit) -> float:
    """Share of the step that lies beyond four sigmas, less its 95 % interval."""
    ends = np.clip(fit.width.half + 4.0 * fit.width.sigma * np.array([-1, 1]), fit.low, fit.high)
    basis = spread_basis(fit.spread.breaks, ends)
    inner = (fit.levels @ (basis[1] - basis[0])) / (fit.levels[:, -1] - fit.levels[:, 0])
    share = 1.0 - float(fit.spread.levels @ (basis[1] - basis[0])) / fit.spread.step
    return abs(share) - student() * float(standard_error(inner))


def _box_mean(region: FloatArray, size: int) -> FloatArray:
    total = np.cumsum(np.cumsum(np.pad(region, ((1, 0), (1, 0))), axis=0), axis=1)
    block = (
        total[size:, size:] - total[:-size, size:] - total[size:, :-size] + total[:-size, :-size]
    )
    return np.asarray(block / size**2)


def _white_noise(region: FloatArray) -> float:
    """Standard deviation of the noise from pixel to pixel, by second differences."""
    second = region[1:-1] - 0.5 * (region[:-2] + region[2:])
    return float(np.median(np.abs(second)) / 0.6745 / np.sqrt(1.5))
