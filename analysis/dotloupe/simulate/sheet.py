"""A sheet that can be photographed: a print, or blank paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.simulate.paper import LUSTRE, draw_texture

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.paper import Paper

Window = tuple[float, float, float, float]
"""Left, top, right and bottom in mm."""

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Weights of linear red, green and blue in luminance (IEC 61966-2-1)."""

PIXELS_PER_MM = 160.0
"""Puts four to five pixels across a dot."""

MARGIN_MM = 1.5
"""Blank paper kept around a picture."""

_STREAM_TEXTURE = 3


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
    pixels_per_mm: float = PIXELS_PER_MM,
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
    """
    shape = (
        round((height_mm + 2.0 * MARGIN_MM) * pixels_per_mm),
        round((width_mm + 2.0 * MARGIN_MM) * pixels_per_mm),
    )
    texture = sheet_texture(paper, shape, pixels_per_mm, seed)
    bands = np.repeat(texture[None], 3, axis=0)
    return Sheet(bands, pixels_per_mm, MARGIN_MM, width_mm, height_mm, paper, seed)
