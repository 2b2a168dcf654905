"""Regions that a person marked on photographs of an own picture: edges and even tones, measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.evaluate.cautions import MarkedByHand, RegionNotMeasured
from dotloupe.evaluate.elements import AXES
from dotloupe.measurement import CameraState, Measurement, Parameters, PictureMeasurement, print_id
from dotloupe.number import Measurand, Quantity
from dotloupe.units import MM_PER_INCH, VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture
    from dotloupe.measure.edge import CombinedEdges, EdgeResponse
    from dotloupe.measure.grain import Grain


@dataclass(frozen=True)
class MarkedRegion:
    """An upright rectangle of the picture that was sent.

    Attributes
    ----------
    kind : {"edge", "tone"}
        One straight edge a few degrees off upright, or one even tone.
    left, top, right, bottom : float
        In pixels of the picture.
    """

    kind: Literal["edge", "tone"]
    left: float
    top: float
    right: float
    bottom: float

    @property
    def corners(self) -> FloatArray:
        """Corners (x, y), shape (4, 2)."""
        across, down = (self.left, self.right), (self.top, self.bottom)
        return np.array([[x, y] for x in across for y in down])


def measure_marked(
    capture: Capture,
    homography: FloatArray,
    picture_ppi: float,
    regions: Sequence[MarkedRegion],
    *,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
) -> PictureMeasurement:
    """Measure marked regions on one photograph.

    Parameters
    ----------
    capture : Capture
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to pixel of the picture, as `register` gives it.
    picture_ppi : float
        Pixels of the picture per inch of its print.
    regions : sequence of MarkedRegion
    viewing_distance_mm : float

    Returns
    -------
    PictureMeasurement
        Detail of the edges of each direction, and the visible grain of the tones; `fit` is False
        where no region could be measured.
    """
    from dotloupe.evaluate.summaries import edge_number, grain_number
    from dotloupe.measure.edge import slanted_edge
    from dotloupe.measure.grain import grain, summarise_grain

    edges: dict[str, EdgeResponse] = {}
    tones: dict[str, Grain] = {}
    faults: dict[str, str] = {}
    for number, region in enumerate(regions, start=1):
        name = f"{region.kind} {number}"
        try:
            light, per_mm = _cut(capture, homography, picture_ppi, region)
            if region.kind == "edge":
                edges[name] = slanted_edge(light, per_mm)
            else:
                tones[name] = grain(light, per_mm, viewing_distance_mm=viewing_distance_mm)
        except RegionError as error:
            faults[name] = str(error)
    combined = _directions(edges, turned=_turned(homography))
    directions = {measurand.name: found for measurand, found in combined.items()}
    whole = summarise_grain(tones) if tones else None
    numbers = {
        measurand.name: edge_number(measurand, found) for measurand, found in combined.items()
    }
    if whole is not None:
        numbers[Measurand(Quantity.GRAIN).name] = grain_number(whole)
    return PictureMeasurement(
        path=capture.path,
        sha256=capture.sha256,
        print_id=print_id(capture.path),
        run=None,
        sent_ppi=None,
        fit=bool(numbers),
        reasons=() if numbers else _not_measured(faults),
        warnings=(*capture.warnings, MarkedByHand()),
        numbers=numbers,
        parameters=Parameters(camera=CameraState.INCLUDED),
        faults=faults,
        edges=edges,
        directions=directions,
        tints=tones,
        grain=whole,
    )


def with_marked(
    measured: Measurement,
    capture: Capture,
    picture_ppi: float,
    regions: Sequence[MarkedRegion],
) -> Measurement:
    """Add what marked regions show to the measurement of a photograph of an own picture.

    One that was not found on the picture, or is not fit, stays as it is.

    Parameters
    ----------
    measured : Measurement
    capture : Capture
        The photograph measured.
    picture_ppi : float
        Pixels of the picture per inch of its print.
    regions : sequence of MarkedRegion
    """
    if not isinstance(measured, PictureMeasurement) or not measured.fit:
        return measured
    if measured.registration is None:
        return measured
    marked = measure_marked(capture, measured.registration.homography, picture_ppi, regions)
    return replace(
        measured,
        numbers={**measured.numbers, **marked.numbers},
        warnings=tuple(
            dict.fromkeys((*measured.warnings, *marked.warnings, *_not_measured(marked.faults)))
        ),
        parameters=replace(measured.parameters, camera=marked.parameters.camera),
        faults=marked.faults,
        edges=marked.edges,
        directions=marked.directions,
        tints=marked.tints,
        grain=marked.grain,
    )


def _not_measured(faults: Mapping[str, str]) -> tuple[Caution, ...]:
    return tuple(RegionNotMeasured(name, why) for name, why in faults.items())


def region_on_picture(
    kind: Literal["edge", "tone"], corners_px: FloatArray, homography: FloatArray
) -> MarkedRegion:
    """Carry a rectangle of a photograph over to the picture.

    Parameters
    ----------
    kind : {"edge", "tone"}
    corners_px : ndarray of shape (4, 2)
        Corners (x, y) on the photograph.
    homography : ndarray of shape (3, 3)
        Pixel (x, y, 1) of the photograph to pixel of the picture.
    """
    from dotloupe.registration import map_points

    left, top, right, bottom = _within(map_points(homography, corners_px))
    return MarkedRegion(kind, left, top, right, bottom)


def _cut(
    capture: Capture, homography: FloatArray, picture_ppi: float, region: MarkedRegion
) -> tuple[FloatArray, float]:
    """Luminance factor of a region on the photograph, and its pixels per mm."""
    from dotloupe.registration import map_points, pixels_per_mm

    to_mm = np.diag([MM_PER_INCH / picture_ppi] * 2 + [1.0]) @ homography
    middle = region.corners.mean(axis=0) * MM_PER_INCH / picture_ppi
    left, top, right, bottom = _within(map_points(np.linalg.inv(homography), region.corners))
    rows, columns = capture.shape
    if left < 0 or top < 0 or right > columns - 1 or bottom > rows - 1:
        raise RegionError("the region lies outside this photograph")
    cut = (slice(int(np.ceil(top)), int(bottom) + 1), slice(int(np.ceil(left)), int(right) + 1))
    return capture.luminance(*cut), pixels_per_mm(to_mm, middle)


def _within(corners: FloatArray) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the largest upright rectangle between four corners."""
    x, y = np.sort(corners[:, 0]), np.sort(corners[:, 1])
    return float(x[1]), float(y[1]), float(x[2]), float(y[2])


def _turned(homography: FloatArray) -> bool:
    """Whether the photograph was taken with the sheet a quarter turn from the picture."""
    return abs(homography[0, 0]) < abs(homography[0, 1])


def _directions(edges: dict[str, EdgeResponse], *, turned: bool) -> dict[Measurand, CombinedEdges]:
    """Edges of each direction of the picture together."""
    from dotloupe.measure.edge import combine_edges

    directions = {}
    for runs, axis in zip(("vertical", "horizontal"), AXES[::-1] if turned else AXES, strict=True):
        found = [e for e in edges.values() if e.runs == runs]
        if found:
            directions[Measurand(Quantity.DETAIL, axis)] = combine_edges(found)
    return directions
