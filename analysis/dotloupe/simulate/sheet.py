"""A sheet that can be photographed: a print, blank paper, or a blade on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import sici

from dotloupe.simulate.paper import LUSTRE, draw_texture

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.paper import Paper

Window = tuple[float, float, float, float]
"""Left, top, right and bottom in mm."""

Line = tuple[tuple[float, float], tuple[float, float]]
"""Two points (x, y) in mm that a straight line passes."""

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Weights of linear red, green and blue in luminance (IEC 61966-2-1)."""

_STREAM_TEXTURE = 3
_BLADE_CUTOFF = 75.0


@dataclass(frozen=True)
class Sheet:
    """What lies under the camera, on a fine grid that no camera has touched.

    Attributes
    ----------
    bands : (3, h, w) float32 array
        Linear red, green and blue reflectance relative to paper.
    pixels_per_mm, margin_mm : float
        Sampling of `bands`, and the paper around the picture on all sides.
    width_mm, height_mm : float
        Size of the picture; its top left corner is the origin.
    paper : Paper
        What it is on.
    seed : int
        Seed of this sheet's relief, and of the print on it.
    """

    bands: FloatArray
    pixels_per_mm: float
    margin_mm: float
    width_mm: float
    height_mm: float
    paper: Paper
    seed: int

    @property
    def reflectance(self) -> FloatArray:
        """The bands as a picture (h, w, 3)."""
        return np.moveaxis(self.bands, 0, -1)

    def to_pixel(self, place_mm: ArrayLike) -> FloatArray:
        """Pixel coordinate on the grid of a place in mm, the same for x and y."""
        return (np.asarray(place_mm, dtype=float) + self.margin_mm) * self.pixels_per_mm - 0.5

    def window(
        self, window_mm: Window, *, weights: tuple[float, float, float] = LUMINANCE
    ) -> FloatArray:
        """Weighted reflectance (h, w) of the pixels inside a window, less any beyond the sheet."""
        rows, cols = self._pixels_of(window_mm)
        share = np.array(weights) / sum(weights)
        return np.tensordot(share, self.bands[:, rows, cols], axes=1)

    def window_texture(self, window_mm: Window) -> FloatArray:
        """The paper's relief (h, w) alone in a window, as the factor it put on the reflectance."""
        rows, cols = self._pixels_of(window_mm)
        shape = (self.bands.shape[1], self.bands.shape[2])
        return sheet_texture(self.paper, shape, self.pixels_per_mm, self.seed)[rows, cols]

    def pixel_places_mm(self, window_mm: Window) -> tuple[FloatArray, FloatArray]:
        """Centres x (1, w) and y (h, 1) in mm of the pixels inside a window."""
        rows, cols = self._pixels_of(window_mm)
        x, y = (
            (np.arange(s.start, s.stop) + 0.5) / self.pixels_per_mm - self.margin_mm
            for s in (cols, rows)
        )
        return x[None, :], y[:, None]

    def _pixels_of(self, window_mm: Window) -> tuple[slice, slice]:
        left, top, right, low = (round(v) for v in self.to_pixel(window_mm) + 0.5)
        rows, cols = self.bands.shape[1:]
        return slice(max(top, 0), min(low, rows)), slice(max(left, 0), min(right, cols))


def sheet_texture(
    paper: Paper, shape: tuple[int, int], pixels_per_mm: float, seed: int
) -> FloatArray:
    """Relief of the sheet of one seed, float32 of `shape`, as a factor around 1.

    Parameters
    ----------
    paper : Paper
    shape : (rows, columns)
    pixels_per_mm : float
    seed : int
        Another seed is another sheet.
    """
    return draw_texture(paper, shape, pixels_per_mm, np.random.default_rng([seed, _STREAM_TEXTURE]))


def blank_sheet(
    width_mm: float,
    height_mm: float,
    *,
    paper: Paper = LUSTRE,
    seed: int = 0,
    pixels_per_mm: float = 160.0,
    margin_mm: float = 1.5,
) -> Sheet:
    """Paper with nothing on it, for a blank-paper shot.

    Parameters
    ----------
    width_mm, height_mm : float
        Size without the margin.
    paper : Paper
    seed : int
        Chance of the sheet's relief.
    pixels_per_mm : float
        Sampling of the result.
    margin_mm : float
        Added on all sides.
    """
    shape = (
        round((height_mm + 2.0 * margin_mm) * pixels_per_mm),
        round((width_mm + 2.0 * margin_mm) * pixels_per_mm),
    )
    texture = sheet_texture(paper, shape, pixels_per_mm, seed)
    bands = np.repeat(texture[None], 3, axis=0)
    return Sheet(bands, pixels_per_mm, margin_mm, width_mm, height_mm, paper, seed)


def blade_sheet(
    width_mm: float,
    height_mm: float,
    line: Line,
    *,
    blade_reflectance: float = 0.03,
    paper: Paper = LUSTRE,
    seed: int = 0,
) -> Sheet:
    """Straight blade on white paper, the reference edge of a camera; it covers `line`'s right.

    The right is that of someone who walks from the first point to the second, y downwards. The
    edge is ideal up to 75 cycles/mm, beyond which it holds nothing: that is the sine integral of
    the distance, which the grid can hold exactly, its ripples included.

    Parameters
    ----------
    width_mm, height_mm : float
        Size without the margin.
    line : Line
        The blade's edge, by two points in mm.
    blade_reflectance : float
        Relative to white paper.
    paper : Paper
    seed : int
        Chance of the sheet's relief.
    """
    sheet = blank_sheet(width_mm, height_mm, paper=paper, seed=seed)
    everywhere = (-sheet.margin_mm, -sheet.margin_mm, width_mm + 9e9, height_mm + 9e9)
    distance_mm = distance_from(line, *sheet.pixel_places_mm(everywhere))
    rise, _ = sici(2.0 * np.pi * _BLADE_CUTOFF * distance_mm)
    covered = (0.5 + rise / np.pi).astype(np.float32)
    bands = sheet.bands * (1.0 - covered) + np.float32(blade_reflectance) * covered
    return Sheet(bands, sheet.pixels_per_mm, sheet.margin_mm, width_mm, height_mm, paper, seed)


def distance_from(line: Line, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
    """Signed distance in mm of places from a line, positive on its right (y downwards)."""
    (x0, y0), (x1, y1) = line
    length = np.hypot(x1 - x0, y1 - y0)
    return ((x1 - x0) * (y_mm - y0) - (y1 - y0) * (x_mm - x0)) / length


def half_plane_share(distance_px: FloatArray, line: Line) -> FloatArray:
    """Share of a unit pixel on the right of a line, its centre `distance_px` to the right.

    A square projects on the line's normal as a trapezoid of half-widths (|c| + |s|)/2 and
    ||c| - |s||/2; the share is that trapezoid's integral, in closed form.
    """
    (x0, y0), (x1, y1) = line
    length = np.hypot(x1 - x0, y1 - y0)
    wide, narrow = sorted((abs(x1 - x0) / length, abs(y1 - y0) / length), reverse=True)
    outer, inner = 0.5 * (wide + narrow), 0.5 * (wide - narrow)
    d = np.asarray(distance_px, dtype=float)
    flat = 0.5 + np.clip(d, -inner, inner) / wide
    if narrow == 0.0:
        return flat
    past = np.clip(np.abs(d), inner, outer) - inner
    slope = np.sign(d) * (past / wide - past**2 / (2.0 * wide * narrow))
    return flat + slope
