"""Where the four marks stand, by the edges of their modules: solid black on paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from dotloupe.arrays import FloatArray
from dotloupe.patch import CORNERS, MARK_MODULES, Region, mark_modules
from dotloupe.registration import View, map_points

FIT_MM = 0.18
BIN_MM = 0.01
BINS = round(2 * FIT_MM / BIN_MM)
MIDDLE_SHARE = 0.5
"""Of a module's side: nearer to its corners the edges across blur in."""
WORKING_PER_MM = 60.0
LEAST_FILLED = 10
SOLVED = (1, 2, 3, 4)
"""States in which the least-squares solver ends with a solution."""
GREEN = 1


@dataclass(frozen=True)
class MarkPlaces:
    """Where the marks stand by their edges.

    Attributes
    ----------
    centres_mm : ndarray of shape (marks, 2)
        Centres (x, y) of the marks as drawn on the patch.
    outward_um : ndarray of shape (marks, 2)
        How far each lies from the middle of the patch beyond its place, along x and y; NaN where
        its outer edges cannot be read.
    """

    centres_mm: FloatArray
    outward_um: FloatArray


def mark_places(view: View) -> MarkPlaces:
    """Find the places of all marks by the fits of their edges."""
    marks = list(view.regions("mark"))
    run = view.registration.run or 0
    found = np.array([_displacement_mm(view, mark, _modules(run, mark)) for mark in marks])
    centres = np.array([mark.centre_mm for mark in marks])
    outward = np.sign(centres - np.array(view.patch.size_mm) / 2)
    return MarkPlaces(centres_mm=centres, outward_um=found * outward * 1000)


def _modules(run: int, mark: Region) -> FloatArray:
    """Reflectance of a mark's modules with the paper around them, shape (8, 8)."""
    names = [f"mark_{corner.replace(' ', '_')}" for corner in CORNERS]
    return np.pad(mark_modules(run, names.index(mark.name)), 1, constant_values=1.0)


def _displacement_mm(view: View, mark: Region, modules: FloatArray) -> FloatArray:
    """How far a mark lies off its place along x and y, by its two outer edges."""
    light, x_mm, y_mm = _pixels_of(view, mark)
    module_mm = mark.width_mm / MARK_MODULES
    u, v = (x_mm - mark.x_mm) / module_mm, (y_mm - mark.y_mm) / module_mm
    ways = ((u, v, modules), (v, u, modules.T))
    places = [_outer_places(light, across, along, m, module_mm) for across, along, m in ways]
    return np.array([(last - first) / 2 for first, last in places])


def _pixels_of(view: View, mark: Region) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Green reflectance of a mark and its surrounds, thinned, and the pixels' places in mm."""
    capture, homography = view.capture, view.registration.homography
    corners = np.array(mark.corners_mm) + FIT_MM * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    seen = map_points(np.linalg.inv(homography), corners)
    size = np.array(capture.shape[::-1])
    first = np.clip(np.floor(seen.min(axis=0)).astype(int), 0, size)
    last = np.clip(np.ceil(seen.max(axis=0)).astype(int) + 1, 0, size)
    step = max(1, int(view.registration.pixels_per_mm / WORKING_PER_MM))
    rows = slice(int(first[1]), int(last[1]), step)
    columns = slice(int(first[0]), int(last[0]), step)
    light = capture.linear[capture.pixels[rows, columns, GREEN]] / capture.paper_level[GREEN]
    y, x = np.arange(size[1])[rows, None], np.arange(size[0])[columns]
    x_mm, y_mm, depth = (row[0] * x + (row[1] * y + row[2]) for row in homography)
    return light.ravel(), (x_mm / depth).ravel(), (y_mm / depth).ravel()


def _outer_places(
    light: FloatArray, across: FloatArray, along: FloatArray, modules: FloatArray, module_mm: float
) -> tuple[float, float]:
    """Places in mm of a mark's first and last edge, each from its line outwards.

    `across` and `along` are pixel places in modules; `modules` holds them as (along, across).
    """
    first, last = (
        _line_place(light, (across - line) * module_mm, along, np.diff(modules)[1:-1, line])
        for line in (0, MARK_MODULES)
    )
    return first, last


def _line_place(
    light: FloatArray, distance: FloatArray, along: FloatArray, rises: FloatArray
) -> float:
    """Place in mm of the edges on a line between modules, from the light within reach of it.

    `along` is in modules, and each has its rise across the line.
    """
    near = (np.abs(distance) < FIT_MM) & (along >= 0) & (along < MARK_MODULES)
    light, distance, along = light[near], distance[near], along[near]
    rise = rises[along.astype(int)]
    used = (rise != 0) & (np.abs(along % 1 - 0.5) < MIDDLE_SHARE / 2)
    light, outward = light[used], (distance * rise)[used]
    cell = np.clip(((outward + FIT_MM) / BIN_MM).astype(int), 0, BINS - 1)
    count, place, total = (
        np.bincount(cell, weights, minlength=BINS).astype(float)
        for weights in (None, outward, light)
    )
    return _fit(place, total, count)


def _fit(place: FloatArray, total: FloatArray, count: FloatArray) -> float:
    """Place in mm of a Gaussian-blurred edge from sums over bins; NaN where there is none."""
    filled = count > 0
    if np.count_nonzero(filled) < LEAST_FILLED:
        return np.nan
    distance, light = place[filled] / count[filled], total[filled] / count[filled]
    start = (float(light.min()), float(np.ptp(light)), 0.0, 0.04)
    weight = np.sqrt(count[filled])

    def left(edge: FloatArray) -> FloatArray:
        return weight * (_blurred_edge(distance, *edge) - light)

    def slopes(edge: FloatArray) -> FloatArray:
        return weight * _edge_slopes(distance, *edge[1:])

    found, *_, status = scipy.optimize.leastsq(
        left, start, Dfun=slopes, col_deriv=True, maxfev=12, full_output=True
    )
    if status not in SOLVED:
        return np.nan
    return float(found[2])


def _blurred_edge(
    distance: FloatArray, dark: float, step: float, place: float, width: float
) -> FloatArray:
    return dark + step * scipy.special.ndtr((distance - place) / width)


def _edge_slopes(distance: FloatArray, step: float, place: float, width: float) -> FloatArray:
    """Derivatives of `_blurred_edge` by dark, step, place and width, shape (4, n)."""
    away = (distance - place) / width
    steepness = -step / width * np.exp(-0.5 * away * away) / np.sqrt(2 * np.pi)
    return np.stack([np.ones_like(away), scipy.special.ndtr(away), steepness, steepness * away])
