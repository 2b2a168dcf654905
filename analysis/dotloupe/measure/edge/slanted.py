"""Slanted-edge measurement: how much of each spatial frequency an edge still holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import Camera, camera_curve
from dotloupe.measure.edge.cautions import CameraReference, Runs
from dotloupe.measure.edge.checks import check_fit, check_region, why_no_line
from dotloupe.measure.edge.edge_jackknife import plain_interval
from dotloupe.measure.edge.joint_fit import fit_edge
from dotloupe.measure.edge.mtf import EdgeTransfer, edge_transfer
from dotloupe.measure.edge.position import check_tilt, edge_samples, first_curve, near_vertical
from dotloupe.measure.edge.shape import EdgeShape, edge_shape

LEAST_REFERENCE_CONTRAST = 3.0
"""Light over dark of a reference edge."""


@dataclass(frozen=True, kw_only=True)
class EdgeResponse(EdgeTransfer, EdgeShape):
    """What one slanted edge shows: its MTF, its shape and where it lies.

    Attributes
    ----------
    edge_angle_deg, edge_angle_deg_interval : float, (float, float)
        Mean tilt from the pixel grid: positive where a near-vertical edge moves to larger
        columns, a near-horizontal one to larger rows, as the other index grows.
    runs : {"vertical", "horizontal"}
        The direction the edge runs in; a vertical edge shows modulation along x.
    reflectance_dark, reflectance_light : float
        The two plateaus.
    edge_place : ndarray, shape (j, 2)
        Points (x, y) in pixels on the fitted edge.
    pixels_per_mm : float
    cautions : tuple of Caution
        What a reader of the numbers must know.
    """

    edge_angle_deg: float
    edge_angle_deg_interval: Interval
    runs: Runs
    reflectance_dark: float
    reflectance_light: float
    edge_place: FloatArray
    pixels_per_mm: float
    cautions: tuple[Caution, ...]


def slanted_edge(
    reflectance: FloatArray, pixels_per_mm: float, *, camera_mtf: Camera | None = None
) -> EdgeResponse:
    """Modulation transfer function of a near-vertical or near-horizontal edge.

    Parameters
    ----------
    reflectance : ndarray, shape (rows, columns)
        Linear reflectance of a region that holds one edge, running from end to end.
    pixels_per_mm : float
        Sampling of the region on the print.
    camera_mtf : EdgeResponse or (frequency, mtf), optional
        Response of the camera in the same set-up, from `camera_response` or as a pair of
        arrays, cycles/mm and MTF. The MTF is divided by it up to where it falls to 0.2. Without
        it the MTF is that of the array as given, camera optics and pixel aperture left in.

    Returns
    -------
    EdgeResponse

    Raises
    ------
    RegionError
        If the region does not hold one usable edge.
    """
    camera = None if camera_mtf is None else camera_curve(camera_mtf)
    region = np.asarray(reflectance)
    check_region(region, pixels_per_mm)
    region, transposed = near_vertical(region.astype(float, copy=False))
    runs: Runs = "horizontal" if transposed else "vertical"
    first = first_curve(region)
    if first is None:
        raise RegionError(why_no_line(region))
    check_tilt(first)
    fit = fit_edge(region, first)
    check_tilt(fit.curve)
    samples = edge_samples(region, fit.curve, max(-fit.low, fit.high))
    of_fit = check_fit(samples[1], samples[2], fit, pixels_per_mm)
    transfer, of_transfer = edge_transfer(fit, pixels_per_mm, camera, runs)
    shape, of_shape = edge_shape(samples, fit, 1000.0 / pixels_per_mm)
    slopes = np.degrees(np.arctan(2.0 * fit.coefficients[:, 1] / fit.curve.rows))
    rows = np.linspace(-0.5, fit.curve.rows - 0.5, 33)
    place = np.column_stack([fit.curve.column(rows), rows])
    parts: dict[str, Any] = vars(transfer) | vars(shape)
    return EdgeResponse(
        **parts,
        edge_angle_deg=fit.curve.angle_deg,
        edge_angle_deg_interval=plain_interval(fit.curve.angle_deg, slopes),
        runs=runs,
        reflectance_dark=min(fit.spread.plateaus),
        reflectance_light=max(fit.spread.plateaus),
        edge_place=place[:, ::-1] if transposed else place,
        pixels_per_mm=float(pixels_per_mm),
        cautions=of_fit + of_shape + of_transfer,
    )


def camera_response(reflectance: FloatArray, pixels_per_mm: float) -> EdgeResponse:
    """Response of the camera, from a reference edge photographed as the prints are.

    A razor blade or a metal rule laid on white paper, in the plane of the print, tilted by
    about 5 degrees, with the same lens, aperture, distance, light and processing. The usual
    caution: the blade must be sharp, clean and flat on the paper, dark and matt (or smoked),
    lit so that it throws no shadow; what blur it has is charged to the camera and taken out of
    the print. Both directions need their own edge.

    Parameters
    ----------
    reflectance : ndarray, shape (rows, columns)
        Linear reflectance of a region that holds the edge, running from end to end.
    pixels_per_mm : float
        Sampling of the region in the plane of the prints.

    Returns
    -------
    EdgeResponse
        To be given as `camera_mtf`.

    Raises
    ------
    RegionError
        If the region holds no usable edge, or one of less than 3:1.
    """
    response = slanted_edge(reflectance, pixels_per_mm)
    dark, light = response.reflectance_dark, response.reflectance_light
    if light < LEAST_REFERENCE_CONTRAST * max(dark, 0.0):
        raise RegionError(
            "the reference edge has a contrast under 3:1; use a dark blade on white paper"
        )
    return replace(response, cautions=(CameraReference(), *response.cautions))
