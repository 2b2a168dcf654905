"""Exact area sampling of the patch's kinds of shape: cells, convex polygons and sines.

Every pixel takes the mean reflectance of the square that it covers. For rectangular cells and
sines the mean is separable and exact; for a convex polygon it is exact along x and summed finely
along y.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.patch.region import Axis

Colour = tuple[float, float, float]
SUB_ROWS = 32
"""Lines per pixel row in a polygon: leaves under 1/2000 of a pixel's area in error."""


@dataclass(frozen=True)
class Cells:
    """A rectangle divided evenly into cells of constant reflectance.

    Attributes
    ----------
    x_mm, y_mm, width_mm, height_mm : float
        The rectangle.
    reflectance : ndarray of shape (rows, columns, 3)
        Linear reflectance of each cell, paper = 1.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    reflectance: FloatArray


@dataclass(frozen=True)
class Polygon:
    """A convex polygon whose reflectance differs from its surround by a constant.

    Attributes
    ----------
    corners_mm : ndarray of shape (n, 2)
        Corners (x, y) in order.
    change : tuple of three floats
        Reflectance inside minus reflectance of what it lies on.
    """

    corners_mm: FloatArray
    change: Colour


@dataclass(frozen=True)
class Sine:
    """A sine added to a rectangle, rising through zero in its middle.

    Attributes
    ----------
    x_mm, y_mm, width_mm, height_mm : float
        The rectangle.
    frequency : float
        Cycles/mm.
    along : {"x", "y"}
        Axis along which it swings.
    change : tuple of three floats
        Amplitude of each channel, linear reflectance.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    frequency: float
    along: Axis
    change: Colour


Shape = Cells | Polygon | Sine


def uniform(x_mm: float, y_mm: float, width_mm: float, height_mm: float, colour: Colour) -> Cells:
    """Rectangle of one colour."""
    return Cells(x_mm, y_mm, width_mm, height_mm, np.array(colour, dtype=float).reshape(1, 1, 3))


def overlap(edges_mm: FloatArray, pixel_edges_mm: FloatArray) -> FloatArray:
    """Share of each pixel that each cell covers, along one axis.

    Parameters
    ----------
    edges_mm : ndarray of shape (cells + 1,)
        Increasing borders of the cells.
    pixel_edges_mm : ndarray of shape (pixels + 1,)
        Increasing borders of the pixels.

    Returns
    -------
    ndarray of shape (pixels, cells)
        Values from 0 to 1.
    """
    low = np.maximum(pixel_edges_mm[:-1, None], edges_mm[None, :-1])
    high = np.minimum(pixel_edges_mm[1:, None], edges_mm[None, 1:])
    return np.clip(high - low, 0, None) / np.diff(pixel_edges_mm)[:, None]


def draw_shapes(shapes: tuple[Shape, ...], size_px: tuple[int, int], ppi: float) -> FloatArray:
    """Area-sample shapes on white paper.

    Parameters
    ----------
    shapes : tuple of Cells and Polygon
        Cells do not overlap each other; a polygon adds its change to what it lies on.
    size_px : (int, int)
        Rows and columns of the drawing.
    ppi : float
        Pixels per inch of the drawing.

    Returns
    -------
    ndarray of shape (rows, columns, 3)
        Linear reflectance, paper = 1.
    """
    pitch_mm = 25.4 / ppi
    drawing = np.ones((*size_px, 3))
    for shape in shapes:
        x, y, right, bottom = _bounds_mm(shape)
        rows = slice(max(int(y / pitch_mm), 0), min(int(bottom / pitch_mm) + 1, size_px[0]))
        columns = slice(max(int(x / pitch_mm), 0), min(int(right / pitch_mm) + 1, size_px[1]))
        x_edges = np.arange(columns.start, columns.stop + 1) * pitch_mm
        y_edges = np.arange(rows.start, rows.stop + 1) * pitch_mm
        drawing[rows, columns] += _change(shape, x_edges, y_edges)
    return drawing


def _bounds_mm(shape: Shape) -> tuple[float, float, float, float]:
    if not isinstance(shape, Polygon):
        return shape.x_mm, shape.y_mm, shape.x_mm + shape.width_mm, shape.y_mm + shape.height_mm
    (x, y), (right, bottom) = shape.corners_mm.min(axis=0), shape.corners_mm.max(axis=0)
    return float(x), float(y), float(right), float(bottom)


def _change(shape: Shape, x_edges: FloatArray, y_edges: FloatArray) -> FloatArray:
    """Add to paper = 1, shape (rows, columns, 3)."""
    if isinstance(shape, Cells):
        if shape.reflectance.shape[:2] == (1, 1):
            return _rectangle_change(shape, x_edges, y_edges)
        return _cells_change(shape, x_edges, y_edges)
    if isinstance(shape, Sine):
        return _sine_change(shape, x_edges, y_edges)
    return _polygon_change(shape, x_edges, y_edges)


def _rectangle_change(cell: Cells, x_edges: FloatArray, y_edges: FloatArray) -> FloatArray:
    """Add a rectangle of one colour."""
    along_x = overlap(np.array([cell.x_mm, cell.x_mm + cell.width_mm]), x_edges)
    along_y = overlap(np.array([cell.y_mm, cell.y_mm + cell.height_mm]), y_edges)
    return (along_y * along_x.T)[..., None] * (cell.reflectance[0, 0] - 1.0)


def _cells_change(cells: Cells, x_edges: FloatArray, y_edges: FloatArray) -> FloatArray:
    rows, columns = cells.reflectance.shape[:2]
    down = (y_edges - cells.y_mm) * (rows / cells.height_mm)
    across = (x_edges - cells.x_mm) * (columns / cells.width_mm)
    by_row = _mean_over_pixels(cells.reflectance - 1.0, down)
    return _mean_over_pixels(by_row.swapaxes(0, 1), across).swapaxes(0, 1)


def _mean_over_pixels(values: FloatArray, borders: FloatArray) -> FloatArray:
    """Mean of cells over pixels along the first axis, 0 beyond; borders of the pixels in cells."""
    before = np.concatenate([np.zeros_like(values[:1]), np.cumsum(values, axis=0)])
    place = np.clip(borders, 0, len(values))
    cell = np.minimum(place.astype(int), len(values) - 1)
    up_to_border = before[cell] + (place - cell)[:, None, None] * values[cell]
    return np.diff(up_to_border, axis=0) / np.diff(borders)[:, None, None]


def _sine_change(sine: Sine, x_edges: FloatArray, y_edges: FloatArray) -> FloatArray:
    across = overlap(np.array([sine.x_mm, sine.x_mm + sine.width_mm]), x_edges)[:, 0]
    down = overlap(np.array([sine.y_mm, sine.y_mm + sine.height_mm]), y_edges)[:, 0]
    if sine.along == "x":
        across = _mean_sine(x_edges, sine.x_mm, sine.width_mm, sine.frequency)
    else:
        down = _mean_sine(y_edges, sine.y_mm, sine.height_mm, sine.frequency)
    return np.outer(down, across)[..., None] * np.array(sine.change)


def _mean_sine(
    pixel_edges_mm: FloatArray, start_mm: float, length_mm: float, frequency: float
) -> FloatArray:
    """Mean over each pixel of a sine about the middle of a stretch, 0 beyond its ends."""
    half = length_mm / 2
    place = np.clip(pixel_edges_mm - start_mm - half, -half, half)
    turn = 2 * np.pi * frequency
    return np.diff(-np.cos(turn * place) / turn) / np.diff(pixel_edges_mm)


def _polygon_change(polygon: Polygon, x_edges: FloatArray, y_edges: FloatArray) -> FloatArray:
    rows = len(y_edges) - 1
    fine = np.linspace(y_edges[0], y_edges[-1], rows * SUB_ROWS + 1)
    low = np.maximum(fine[:-1], polygon.corners_mm[:, 1].min())
    high = np.minimum(fine[1:], polygon.corners_mm[:, 1].max())
    depth = np.clip(high - low, 0, None) / (y_edges[1] - y_edges[0])
    left, right = _spans_mm(polygon.corners_mm, (low + high) / 2)
    covered = np.minimum(right[:, None], x_edges[None, 1:]) - np.maximum(
        left[:, None], x_edges[None, :-1]
    )
    share = np.clip(covered, 0, None) / np.diff(x_edges) * depth[:, None]
    coverage = share.reshape(rows, SUB_ROWS, -1).sum(axis=1)
    return coverage[..., None] * np.array(polygon.change)


def _spans_mm(corners_mm: FloatArray, lines_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Left and right end of a convex polygon on horizontal lines (empty where left > right)."""
    start, end = corners_mm, np.roll(corners_mm, -1, axis=0)
    rise = end[:, 1] - start[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (lines_mm[:, None] - start[None, :, 1]) / rise
    crossing = start[:, 0] + along * (end[:, 0] - start[:, 0])
    inside = (along >= 0) & (along <= 1)
    left = np.where(inside, crossing, np.inf).min(axis=1)
    right = np.where(inside, crossing, -np.inf).max(axis=1)
    return left, right
