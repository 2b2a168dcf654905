"""The least error that any search can have of a frame's place, by how well one printer puts edges.

The place of a printed disc is known from its border alone: the square of its scatter times half
the border's length is the variance of an edge's place over a length of it (derived). What the
edges of all marks, code and lettering then tell of the eight numbers of a homography is their
information (H. Cramer 1946, C. R. Rao 1945; from memory). The camera's noise is left out.
"""

from __future__ import annotations

import numpy as np
from framed import DISC_MM, Floats, Patch

EDGE_PPI = 600
CONTRAST_LEAST = 0.05


def least_error_mm(patch: Patch, disc_scatter_mm: float, box_mm: Floats) -> float:
    """Bound on the rms error over a box (left, top, right, bottom) of the drawing.

    Parameters
    ----------
    patch : Patch
        A frame; the picture's own edges are left out.
    disc_scatter_mm : float
        Standard deviation, along one axis, of the places of discs.
    box_mm : ndarray of shape (4,)
    """
    variance_length = disc_scatter_mm**2 * np.pi * DISC_MM / 2
    light = patch.reflectance(EDGE_PPI)[..., 1]
    pixel_mm = 25.4 / EDGE_PPI
    down, across = np.gradient(light, pixel_mm)
    steep = np.hypot(across, down)
    row, column = np.nonzero(steep > CONTRAST_LEAST / pixel_mm)
    steep = steep[row, column]
    normal = np.stack([across[row, column], down[row, column]], axis=-1) / steep[:, None]
    edges_mm = (np.stack([column, row], axis=-1) + 0.5) * pixel_mm
    moved = np.einsum("ni,nik->nk", normal, _moves(edges_mm, patch))
    # the slope of a step from 0 to 1, integrated over the area, is the length of its edge
    length = steep * pixel_mm**2
    covariance = np.linalg.inv((moved * length[:, None]).T @ moved / variance_length)
    left, top, right, bottom = box_mm
    x, y = np.meshgrid(np.linspace(left, right, 9), np.linspace(top, bottom, 7))
    asked = _moves(np.stack([x.ravel(), y.ravel()], axis=-1), patch)
    return float(np.sqrt(np.einsum("nik,kl,nil->n", asked, covariance, asked).mean()))


def _moves(place_mm: Floats, patch: Patch) -> Floats:
    """How a place moves with each of a homography's eight numbers, shape (n, 2, 8)."""
    half = np.array(patch.size_mm) / 2
    u, v = ((place_mm - half) / half).T
    one, none = np.ones_like(u), np.zeros_like(u)
    along_x = np.stack([one, u, v, none, none, none, u * u, u * v], axis=-1)
    along_y = np.stack([none, none, none, one, u, v, u * v, v * v], axis=-1)
    return np.stack([along_x, along_y], axis=1)
