"""Where an edge runs: its direction, a first line or curve, and the curve it follows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.polynomial import legendre, polynomial
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.line_fit import straight_line

LARGEST_ANGLE_DEG = 30.0
"""Beyond this an edge is neither near-vertical nor near-horizontal."""
SMALLEST_SWEEP_PX = 1.0
"""The edge has to cross at least this many columns for its samples to fall at all phases."""
ITERATIONS = 6
"""Most passes over the bands of a first line or curve."""
FIRST_ORDER = 3
"""Order of a first curve."""
BANDS = 12
"""Of rows, that a first line or curve goes through."""
LEAST_BOW_PX = 0.5
"""Bow from which an edge is followed by a curve at first."""
CLEAR_BOW = 4.0
"""Bow over the scatter of the bands about their curve from which it counts as seen."""
BOW_OF_BLUR = 0.5
"""Bow over the sigma of the blur: less of it smears a straight start by 1 % or less."""


@dataclass(frozen=True)
class EdgeCurve:
    """The curve x(y) of a near-vertical edge, a Legendre series over the rows of its region.

    Attributes
    ----------
    coefficients : ndarray, shape (order + 1,)
        Legendre coefficients of x in pixels, over y mapped to -1 .. 1 from the first pixel
        border to the last.
    rows : int
        Number of rows of the region.
    """

    coefficients: FloatArray
    rows: int

    def along(self, y: FloatArray) -> FloatArray:
        """Rows `y` mapped to -1 .. 1."""
        return (2.0 * np.asarray(y, dtype=float) - (self.rows - 1)) / self.rows

    def column(self, y: FloatArray) -> FloatArray:
        """Column of the edge at rows `y`."""
        return np.asarray(polynomial.polyval(self.along(y), self._powers))

    def derivative(self, y: FloatArray, order: int = 1) -> FloatArray:
        """Derivative of the column with respect to the row."""
        series = polynomial.polyder(self._powers, order) * (2.0 / self.rows) ** order
        return np.asarray(polynomial.polyval(self.along(y), series))

    @cached_property
    def _powers(self) -> FloatArray:
        """Its coefficients by powers, from the lowest up: evaluated in a third of the time."""
        return np.asarray(legendre.leg2poly(self.coefficients))

    @property
    def angle_deg(self) -> float:
        """Mean tilt from the vertical, positive where the column grows with the row."""
        end_to_end = 2.0 * self.coefficients[1::2].sum()  # odd orders go from -1 to 1
        return float(np.degrees(np.arctan2(end_to_end, self.rows)))

    @property
    def bow_px(self) -> float:
        """Largest departure from the mean straight line."""
        y = np.linspace(-0.5, self.rows - 0.5, 65)
        bent = self.coefficients.copy()
        bent[:2] = 0.0
        offsets = legendre.legval(self.along(y), bent)
        return float(np.ptp(offsets))


def near_vertical(region: FloatArray) -> tuple[FloatArray, bool]:
    """Turn a region so that its edge is near-vertical; says whether it was transposed."""
    smooth_columns = np.convolve(region.mean(axis=0), np.full(5, 0.2), mode="valid")
    smooth_rows = np.convolve(region.mean(axis=1), np.full(5, 0.2), mode="valid")
    transposed = bool(np.ptp(smooth_rows) > np.ptp(smooth_columns))
    return np.ascontiguousarray(region.T if transposed else region), transposed


def first_curve(region: FloatArray) -> EdgeCurve | None:
    """Line or cubic through a near-vertical edge by the areas on its two sides.

    In each band of rows the excess over one plateau, divided by the step, is the distance of
    the edge from that side: right for any symmetric blur and with no derivative of the noise.
    The plateaus may drift along the edge, as under uneven light. The bands get a cubic where it
    departs clearly from their straight line, by more than the blur hides. None where no line
    with room on both sides comes of it.
    """
    rows, columns = region.shape
    cuts = np.linspace(0, rows, BANDS + 1).astype(int)
    centre = 0.5 * (cuts[:-1] + cuts[1:] - 1)
    profile = np.add.reduceat(region, cuts[:-1], axis=0) / np.diff(cuts)[:, None]
    border = max(2, columns // 10)
    left, right = float(profile[:, :border].mean()), float(profile[:, -border:].mean())
    if left == right:
        return None
    areas = (profile - right).sum(axis=1) / (left - right) - 0.5
    slope, start = straight_line(centre, areas)
    for _ in range(ITERATIONS):
        shift = _band_shifts(profile, centre, slope * centre + start)
        if shift is None:
            return None
        turned, moved = straight_line(centre, shift)
        slope, start = slope + turned, start + moved
        if np.abs(turned * centre + moved).max() < 0.02:
            break
    middle = slope * 0.5 * (rows - 1) + start
    line = EdgeCurve(np.array([middle, slope * rows / 2.0]), rows)
    return _bent_curve(profile, centre, line) or line


def _bent_curve(profile: FloatArray, centre: FloatArray, line: EdgeCurve) -> EdgeCurve | None:
    """Cubic through the bands of an edge; None where their bend does not stand out."""
    shapes = legendre.legvander(line.along(centre), FIRST_ORDER)
    curve = replace(line, coefficients=np.pad(line.coefficients, (0, FIRST_ORDER - 1)))
    for _ in range(ITERATIONS):
        shift = _band_shifts(profile, centre, curve.column(centre))
        if shift is None:
            return None
        change, *_ = np.linalg.lstsq(shapes, shift, rcond=None)
        curve = replace(curve, coefficients=curve.coefficients + change)
        if np.abs(shapes @ change).max() < 0.02:
            break
    rest = shift - shapes @ change
    scatter = float(np.sqrt(rest @ rest / (rest.size - FIRST_ORDER - 1)))
    least = max(LEAST_BOW_PX, CLEAR_BOW * scatter)
    if _sweep(line) >= SMALLEST_SWEEP_PX:
        steepest = float(np.abs(np.diff(profile, axis=1)).max())
        least = max(least, BOW_OF_BLUR * float(np.ptp(profile)) / steepest / np.sqrt(2 * np.pi))
    return curve if curve.bow_px > least else None


def _sweep(curve: EdgeCurve) -> float:
    """Columns that a curve crosses over its rows."""
    return float(np.ptp(curve.column(np.arange(float(curve.rows)))))


def _band_shifts(profile: FloatArray, centre: FloatArray, place: FloatArray) -> FloatArray | None:
    """How far each band's edge lies to the right of `place`; None without room or step."""
    columns = profile.shape[1]
    reach = float(min(place.min(), columns - 1 - place.max()))
    if reach < 4:
        return None
    offset = np.arange(columns)[None, :] - place[:, None]
    away = np.abs(offset)
    inside = np.clip(reach + 0.5 - away, 0.0, 1.0)
    far = inside * (away > 0.7 * reach)
    plateaus = []
    for side in (far * (offset < 0), far * (offset > 0)):
        level = np.einsum("ij,ij->i", profile, side) / side.sum(axis=1)
        drift, at_first = straight_line(centre, level)
        plateaus.append(drift * centre + at_first)
    step = plateaus[0] - plateaus[1]
    if step.min() <= 0.0 <= step.max():
        return None
    width = inside.sum(axis=1)
    area = (np.einsum("ij,ij->i", profile, inside) - plateaus[1] * width) / step
    return np.asarray(area - 0.5 * width + np.einsum("ij,ij->i", offset, inside) / width)


def tilt_message(angle_deg: float) -> str:
    """What to say of an edge that is tilted too far."""
    return (
        f"the edge is tilted by {angle_deg:.0f} degrees from the pixel grid; "
        "a slanted edge needs 2 to 15 degrees"
    )


def check_tilt(curve: EdgeCurve) -> None:
    """Refuse an edge whose tilt a slanted-edge measurement cannot use."""
    angle = abs(curve.angle_deg)
    sweep = _sweep(curve)
    if angle > LARGEST_ANGLE_DEG:
        raise RegionError(tilt_message(angle))
    if sweep < SMALLEST_SWEEP_PX:
        raise RegionError(
            f"the edge is aligned with the pixel grid (it crosses {sweep:.1f} px over the region); "
            "tilt it by 2 to 15 degrees"
        )


def edge_samples(
    region: FloatArray, curve: EdgeCurve, reach: float
) -> tuple[NDArray[np.intp], FloatArray, FloatArray]:
    """Rows, distances to the edge curve and values of the pixels within `reach` of it."""
    distance, part = pixels_around(region, curve, reach)
    near = np.abs(distance) <= reach
    row = np.repeat(np.arange(len(region)), np.count_nonzero(near, axis=1))
    return row, distance[near], part[near]


def pixels_around(
    region: FloatArray, curve: EdgeCurve, reach: float
) -> tuple[FloatArray, FloatArray]:
    """Distances to the edge curve and values of whole columns that hold all pixels within `reach`.

    No pixel is resampled: each keeps its value and gets the signed length of the normal from
    its centre to the curve, by Newton's method on the foot point where the curve is bent.

    Returns
    -------
    distance, value : ndarray, shape (rows, columns)
        Distances of pixels clearly beyond reach may be infinite.
    """
    rows, columns = region.shape
    y = np.arange(rows, dtype=float)
    place, slope = curve.column(y), curve.derivative(y)
    steepest = float(np.sqrt(1.0 + np.max(np.abs(slope)) ** 2))
    first = max(0, int(np.floor(place.min() - reach * steepest)) - 1)
    last = min(columns, int(np.ceil(place.max() + reach * steepest)) + 2)
    across = np.arange(first, last)[None, :] - place[:, None]
    part = region[:, first:last]
    if curve.coefficients.size <= 2:
        across /= np.sqrt(1.0 + slope[0] ** 2)
        return across, part
    distance = np.full(across.shape, np.inf)
    near = np.abs(across) <= reach * steepest + 1.0
    row, column = np.nonzero(near)
    distance[near] = _distance_to_bent(curve, (column + first).astype(float), row.astype(float))
    return distance, part


def _distance_to_bent(curve: EdgeCurve, x: FloatArray, y: FloatArray) -> FloatArray:
    slope = curve.derivative(y)
    foot = y + (x - curve.column(y)) * slope / (1.0 + slope**2)
    for _ in range(3):
        ahead = curve.column(foot) - x
        slope = curve.derivative(foot)
        fall = ahead * slope + (foot - y)
        foot = foot - fall / (1.0 + slope**2 + ahead * curve.derivative(foot, 2))
    slope = curve.derivative(foot)
    return ((x - curve.column(foot)) - (y - foot) * slope) / np.sqrt(1.0 + slope**2)
