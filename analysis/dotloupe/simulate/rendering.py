"""From dots to reflectance: ink on the paper, seen on a fine grid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

from dotloupe.simulate.paper import spread_transfer
from dotloupe.simulate.spectrum import fourier_grid

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.head import Dots
    from dotloupe.simulate.paper import Paper
    from dotloupe.simulate.printer import Ink, Printer

_SATELLITE_VOLUME = 0.12
_OVERSAMPLING = 16
_REACH_MM = 0.3


def splat(
    x_px: FloatArray, y_px: FloatArray, weight: FloatArray | None, shape: tuple[int, int]
) -> FloatArray:
    """Share each point among the four pixels around it, float32 of `shape`.

    Parameters
    ----------
    x_px, y_px : ndarray of shape (points,)
        Places on the grid.
    weight : ndarray of shape (points,) or None
        Of each point; None for 1.
    shape : (rows, columns)
    """
    inside = (x_px >= 0) & (y_px >= 0) & (x_px < shape[1] - 1) & (y_px < shape[0] - 1)
    if not inside.all():
        x_px, y_px = x_px[inside], y_px[inside]
        weight = None if weight is None else weight[inside]
    if weight is None:
        weight = np.ones_like(x_px)
    left, top = np.floor(x_px), np.floor(y_px)
    right_share, low_share = x_px - left, y_px - top
    place = top.astype(np.int64) * shape[1] + left.astype(np.int64)
    upper, lower = weight * (1 - low_share), weight * low_share
    field = np.zeros(shape[0] * shape[1], dtype=np.float32)
    np.add.at(field, place, upper * (1 - right_share))
    np.add.at(field, place + 1, upper * right_share)
    np.add.at(field, place + shape[1], lower * (1 - right_share))
    np.add.at(field, place + shape[1] + 1, lower * right_share)
    return field.reshape(shape)


def dot_profile(diameter_um: float, edge_um: float, pixels_per_mm: float) -> FloatArray:
    """Layers of ink of one dot on the grid, the splat's own blur allowed for.

    A disc one layer thick, its rim softened to a standard deviation of `edge_um`. Sharing among
    four pixels has a variance of 1/6 px^2 and the pixel's average 1/12: both are part of the
    rim's, and a rim softer than half a pixel has no need of more than the rest.
    """
    radius_px = 0.5 * diameter_um * pixels_per_mm / 1000.0
    rest = (edge_um * pixels_per_mm / 1000.0) ** 2 - 0.25
    sigma_px = np.sqrt(max(rest, 0.0))
    reach = int(np.ceil(radius_px + 3.0 * sigma_px + 0.5))
    fine = (np.arange((2 * reach + 1) * _OVERSAMPLING) + 0.5) / _OVERSAMPLING - reach - 0.5
    distance = np.hypot(fine[:, None], fine[None, :])
    if sigma_px > 0:
        from scipy.ndimage import gaussian_filter

        disc = gaussian_filter((distance < radius_px).astype(float), sigma_px * _OVERSAMPLING)
    else:
        disc = (distance < radius_px).astype(float)
    side = 2 * reach + 1
    profile = disc.reshape(side, _OVERSAMPLING, side, _OVERSAMPLING).mean(axis=(1, 3))
    profile *= np.pi * radius_px**2 / profile.sum()
    return np.asarray(profile, dtype=np.float32)


def ink_layers(
    dots: Dots, printer: Printer, shape: tuple[int, int], pixels_per_mm: float, margin_mm: float
) -> FloatArray:
    """Layers of one ink on the fine grid; a dot of nominal volume is one layer thick.

    Parameters
    ----------
    dots : Dots
    printer : Printer
    shape : (rows, columns)
    pixels_per_mm, margin_mm : float
        Sampling of the grid, and the blank paper around the picture in it.
    """
    import cv2

    def to_px(place_mm: FloatArray) -> FloatArray:
        return (place_mm + np.float32(margin_mm)) * np.float32(pixels_per_mm) - np.float32(0.5)

    diameter_um = printer.dot_diameter_um
    profile = dot_profile(diameter_um, printer.dot_edge_um, pixels_per_mm)
    field = splat(to_px(dots.x_mm), to_px(dots.y_mm), dots.volume, shape)
    layers = cv2.filter2D(field, cv2.CV_32F, profile, borderType=cv2.BORDER_CONSTANT)
    if dots.satellite_x_mm.size:
        small_um = diameter_um * _SATELLITE_VOLUME ** (1.0 / 3.0)
        profile = dot_profile(small_um, printer.dot_edge_um, pixels_per_mm)
        field = splat(to_px(dots.satellite_x_mm), to_px(dots.satellite_y_mm), None, shape)
        layers = layers + cv2.filter2D(field, cv2.CV_32F, profile, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(layers, dtype=np.float32)


def ink_density(layers: FloatArray, ink: Ink) -> FloatArray:
    """Density in the ink's strongest band for layers of ink, saturating at its limit."""
    limit = np.float32(ink.density_limit)
    density = layers * np.float32(-max(ink.layer_density) / ink.density_limit)
    np.exp(density, out=density)
    density *= -limit
    density += limit
    return density


def reflect(
    planes: Iterable[tuple[Ink, FloatArray]],
    paper: Paper,
    shape: tuple[int, int],
    pixels_per_mm: float,
) -> FloatArray:
    """Reflectance (3, h, w) relative to paper of inks on paper, without the paper's relief.

    Light passes the ink, spreads in the white below and passes the ink again: T (P * T), with T
    the transmittance of one way, the square root of what the ink's density says. The coating
    that holds the ink scatters a little itself, which blurs the whole.

    Parameters
    ----------
    planes : iterable of (Ink, ndarray of shape (rows, columns))
        Each ink with its layers.
    paper : Paper
    shape : (rows, columns)
    pixels_per_mm : float
    """
    import cv2

    density = np.zeros((3, *shape), dtype=np.float32)
    for ink, layers in planes:
        strongest = ink_density(layers, ink)
        for band in range(3):
            share = ink.layer_density[band] / max(ink.layer_density)
            cv2.scaleAdd(strongest, share, density[band], dst=density[band])

    grid = fourier_grid(shape, round(_REACH_MM * pixels_per_mm), pixels_per_mm)
    transfer = grid.spread(lambda frequency: spread_transfer(paper, frequency))
    surface = np.float32(paper.surface_reflectance)
    coating_px = paper.coating_um * pixels_per_mm / 1000.0
    density *= np.float32(-0.5 * np.log(10.0))
    one_way = np.exp(density, out=density)
    for band in range(3):
        absorbed = fft.rfft2(np.float32(1.0) - one_way[band], grid.shape, overwrite_x=True)
        absorbed *= transfer
        lit = fft.irfft2(absorbed, grid.shape, overwrite_x=True)[: shape[0], : shape[1]]
        one_way[band] *= (np.float32(1.0) - lit) * (np.float32(1.0) - surface)
        if coating_px > 0:
            cv2.GaussianBlur(
                one_way[band], (0, 0), coating_px, dst=one_way[band], borderType=cv2.BORDER_REFLECT
            )
        one_way[band] += surface
    return one_way
