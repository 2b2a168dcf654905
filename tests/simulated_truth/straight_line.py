"""A straight line on a sheet: distances from it, pixels that it cuts, a blade laid along it."""

import numpy as np
from scipy.special import sici

from dotloupe.simulate import LUSTRE, Sheet, blank_sheet

Line = tuple[tuple[float, float], tuple[float, float]]
"""Two points (x, y) in mm that a straight line passes."""

_BLADE_CUTOFF = 75.0
_BLADE_REFLECTANCE = 0.03
"""Relative to white paper."""


def distance_from(line: Line, x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Signed distance in mm of places from a line, positive on its right (y downwards)."""
    (x0, y0), (x1, y1) = line
    length = np.hypot(x1 - x0, y1 - y0)
    return ((x1 - x0) * (y_mm - y0) - (y1 - y0) * (x_mm - x0)) / length


def half_plane_share(distance_px: np.ndarray, line: Line) -> np.ndarray:
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


def blade_sheet(
    width_mm: float,
    height_mm: float,
    line: Line,
    *,
    paper=LUSTRE,
    seed=0,
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
    paper : Paper
    seed : int
        Chance of the sheet's relief.
    """
    sheet = blank_sheet(width_mm, height_mm, paper=paper, seed=seed)
    everywhere = (-sheet.margin_mm, -sheet.margin_mm, width_mm + 9e9, height_mm + 9e9)
    distance_mm = distance_from(line, *sheet.pixel_places_mm(everywhere))
    rise, _ = sici(2.0 * np.pi * _BLADE_CUTOFF * distance_mm)
    covered = (0.5 + rise / np.pi).astype(np.float32)
    bands = sheet.bands * (1.0 - covered) + np.float32(_BLADE_REFLECTANCE) * covered
    return Sheet(bands, sheet.pixels_per_mm, sheet.margin_mm, width_mm, height_mm, paper, seed)
