"""Slanted-edge measurement: how much of each spatial frequency an edge still holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray, Interval
from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import Camera, CameraCurve, camera_curve
from dotloupe.measure.edge.checks import check_fit, check_region, why_no_line
from dotloupe.measure.edge.edge_jackknife import plain_interval
from dotloupe.measure.edge.joint_fit import EdgeFit, fit_edge
from dotloupe.measure.edge.mtf import edge_transfer
from dotloupe.measure.edge.position import check_tilt, edge_samples, first_line, upright
from dotloupe.measure.edge.shape import edge_shape


@dataclass(frozen=True)
class EdgeResponse:
    """What one slanted edge shows; every interval holds 95 %.

    Attributes
    ----------
    frequency : ndarray, shape (m,)
        Cycles/mm along the normal of the edge.
    mtf, mtf_low, mtf_high : ndarray, shape (m,)
        Modulation transfer and its pointwise interval.
    mtf50, mtf10 : float
        Frequencies in cycles/mm at which the MTF first falls below 0.5 and 0.1.
    rise_um : float
        10-90 % distance of the edge spread function.
    edge_angle_deg : float
        Mean tilt from the pixel grid: positive where a near-vertical edge moves to larger
        columns, a near-horizontal one to larger rows, as the other index grows.
    overshoot : float
        Excess of the edge spread function beyond its plateaus, as a share of the step.
    raggedness_um, blurriness_um : float
        Standard deviation of the edge about its fitted curve, and its 10-90 % distance without
        that; analogous to the measures of ISO/IEC 13660.
    runs : {"vertical", "horizontal"}
        The direction the edge runs in; a vertical edge shows modulation along x.
    reflectance_dark, reflectance_light : float
        The two plateaus.
    distance_um, edge_spread, edge_spread_low, edge_spread_high : ndarray, shape (k,)
        The edge spread function from dark (0) to light (1) and its pointwise interval.
    line_spread : ndarray, shape (k,)
        Its derivative, per um.
    edge_place : ndarray, shape (j, 2)
        Points (x, y) in pixels on the fitted edge.
    camera_included : bool
        True unless a camera response was divided out of the MTF. The edge spread function and
        the numbers read from it (rise, overshoot, raggedness, blurriness) always include it.
    flags : tuple of str
        What a reader of the numbers must know.
    """

    frequency: FloatArray
    mtf: FloatArray
    mtf_low: FloatArray
    mtf_high: FloatArray
    mtf50: float
    mtf50_interval: Interval
    mtf10: float
    mtf10_interval: Interval
    rise_um: float
    rise_um_interval: Interval
    edge_angle_deg: float
    edge_angle_deg_interval: Interval
    overshoot: float
    overshoot_interval: Interval
    raggedness_um: float
    raggedness_um_interval: Interval
    blurriness_um: float
    blurriness_um_interval: Interval
    runs: Literal["vertical", "horizontal"]
    reflectance_dark: float
    reflectance_light: float
    distance_um: FloatArray
    edge_spread: FloatArray
    edge_spread_low: FloatArray
    edge_spread_high: FloatArray
    line_spread: FloatArray
    edge_place: FloatArray
    pixels_per_mm: float
    camera_included: bool
    flags: tuple[str, ...]


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
    region, transposed = upright(region.astype(float, copy=False))
    line = first_line(region)
    if line is None:
        raise RegionError(why_no_line(region))
    check_tilt(line)
    fit = fit_edge(region, line)
    check_tilt(fit.curve)
    samples = edge_samples(region, fit.curve, max(-fit.low, fit.high))
    flags = check_fit(samples[1], samples[2], fit, pixels_per_mm)
    return _response(samples, fit, pixels_per_mm, transposed, camera, flags)


def _response(
    samples: tuple[NDArray[np.intp], FloatArray, FloatArray],
    fit: EdgeFit,
    pixels_per_mm: float,
    transposed: bool,
    camera: CameraCurve | None,
    flags: tuple[str, ...],
) -> EdgeResponse:
    runs: Literal["vertical", "horizontal"] = "horizontal" if transposed else "vertical"
    transfer = edge_transfer(fit, pixels_per_mm, camera, runs)
    shape = edge_shape(samples, fit, 1000.0 / pixels_per_mm)
    slopes = np.degrees(np.arctan(2.0 * fit.coefficients[:, 1] / fit.curve.rows))
    rows = np.linspace(-0.5, fit.curve.rows - 0.5, 33)
    place = np.column_stack([fit.curve.column(rows), rows])
    return EdgeResponse(
        frequency=transfer.frequency,
        mtf=transfer.mtf,
        mtf_low=transfer.low,
        mtf_high=transfer.high,
        mtf50=transfer.mtf50,
        mtf50_interval=transfer.mtf50_interval,
        mtf10=transfer.mtf10,
        mtf10_interval=transfer.mtf10_interval,
        rise_um=shape.rise,
        rise_um_interval=shape.rise_interval,
        edge_angle_deg=fit.curve.angle_deg,
        edge_angle_deg_interval=plain_interval(fit.curve.angle_deg, slopes),
        overshoot=shape.overshoot,
        overshoot_interval=shape.overshoot_interval,
        raggedness_um=shape.raggedness,
        raggedness_um_interval=shape.raggedness_interval,
        blurriness_um=shape.blurriness,
        blurriness_um_interval=shape.blurriness_interval,
        runs=runs,
        reflectance_dark=min(fit.spread.plateaus),
        reflectance_light=max(fit.spread.plateaus),
        distance_um=shape.distance,
        edge_spread=shape.spread,
        edge_spread_low=shape.spread_low,
        edge_spread_high=shape.spread_high,
        line_spread=shape.line_spread,
        edge_place=place[:, ::-1] if transposed else place,
        pixels_per_mm=float(pixels_per_mm),
        camera_included=camera is None,
        flags=flags + shape.flags + transfer.flags,
    )
