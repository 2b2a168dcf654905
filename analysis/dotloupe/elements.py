"""Every element of a photographed patch, measured: from capture and registration to results."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

import numpy as np

from dotloupe.capture.capture import Capture
from dotloupe.capture.paper import Lighting
from dotloupe.errors import RegionError
from dotloupe.measure.camera import Camera
from dotloupe.measure.edge import EdgeResponse, slanted_edge
from dotloupe.measure.grain import Grain, grain
from dotloupe.measure.line_pairs import LinePairs, line_pairs
from dotloupe.patch.geometry import Axis, Region
from dotloupe.patch.layout import MARK_MM
from dotloupe.patch.marks import MARK_MODULES
from dotloupe.patch.patch import Patch
from dotloupe.registration.cut import Cut, cut_region, paper_lighting
from dotloupe.registration.register import Registration

BARS_MARGIN_MM = 0.22
TINT_MARGIN_MM = -0.2
PAPER_TONE = "paper"

Result = TypeVar("Result")


@dataclass(frozen=True)
class View:
    """A registered capture, ready for its elements to be cut out."""

    capture: Capture
    registration: Registration
    patch: Patch
    lighting: Lighting

    def cut(self, region: Region, margin_mm: float = 0.0) -> Cut:
        """Cut a region of the patch, the fall of the light taken out."""
        return cut_region(
            self.capture, self.registration.homography, self.lighting, region, margin_mm=margin_mm
        )

    def regions(self, kind: str, axis: Axis | None = None) -> Iterator[Region]:
        """Regions of one kind, and of one direction where one is given."""
        for region in self.patch.regions.values():
            if region.kind == kind and axis in (None, region.direction):
                yield region


@dataclass(frozen=True)
class Readings(Generic[Result]):
    """Results of the elements of one kind, and why some have none, by region."""

    results: dict[str, Result]
    faults: dict[str, str]


def view_of(capture: Capture, registration: Registration) -> View:
    """Prepare a capture that was registered on its patch."""
    if registration.patch is None:
        raise RegionError(f"{capture.path}: registered on a picture, not on a patch")
    lighting = paper_lighting(capture, registration.patch, registration.homography)
    return View(capture, registration, registration.patch, lighting)


def measure_edges(view: View, camera: Camera | None) -> Readings[EdgeResponse]:
    """Slanted-edge response of every edge, by region."""

    def measure(region: Region) -> EdgeResponse:
        cut = view.cut(region)
        per_mm = cut.pixels_per_mm_x if region.direction == "x" else cut.pixels_per_mm_y
        return slanted_edge(cut.luminance, per_mm, camera_mtf=camera)

    return _each(view.regions("edge"), measure)


def measure_bars(view: View, axis: Axis) -> Readings[LinePairs]:
    """Every bar group of one direction, by region; contrast relative to paper and mark black."""
    levels = (1.0, mark_black(view))

    def measure(region: Region) -> LinePairs:
        cut = view.cut(region, BARS_MARGIN_MM)
        along_x = region.direction == "x"
        per_mm = cut.pixels_per_mm_x if along_x else cut.pixels_per_mm_y
        extent_mm = region.width_mm if along_x else region.height_mm
        centre_px = cut.centre_px[0] if along_x else cut.centre_px[1]
        first_bar_px = centre_px - (extent_mm / 2 - 0.25 / region.frequency) * per_mm
        runs: Literal["vertical", "horizontal"] = "vertical" if along_x else "horizontal"
        return line_pairs(
            cut.luminance,
            per_mm,
            region.frequency,
            bars=runs,
            bars_drawn=region.bars,
            first_bar_mm=(first_bar_px + 0.5) / per_mm,
            levels=levels,
        )

    return _each(view.regions("bars", axis), measure)


def measure_tints(view: View, camera: Camera | None, viewing_distance_mm: float) -> Readings[Grain]:
    """Grain of every printed tint, by region, less that of the blank paper."""
    paper = next((r for r in view.regions("tint") if r.tone == PAPER_TONE), None)
    blank = None if paper is None else view.cut(paper, TINT_MARGIN_MM).luminance

    def measure(region: Region) -> Grain:
        cut = view.cut(region, TINT_MARGIN_MM)
        return grain(
            cut.luminance,
            view.registration.pixels_per_mm,
            paper=blank,
            camera_mtf=camera,
            viewing_distance_mm=viewing_distance_mm,
        )

    printed = (r for r in view.regions("tint") if r.tone != PAPER_TONE)
    return _each(printed, measure)


def mark_black(view: View) -> float:
    """Mean luminance factor of the marks' black borders: the darkest that bars could be."""
    levels = []
    for region in view.regions("mark"):
        cut = view.cut(region)
        module_px = MARK_MM / MARK_MODULES * cut.pixels_per_mm_x
        strip = slice(round(0.3 * module_px), max(round(0.7 * module_px), 1))
        levels.append(float(cut.luminance[strip, strip.start : -strip.start or None].mean()))
    return float(np.median(levels))


def _each(regions: Iterator[Region], measure: Callable[[Region], Result]) -> Readings[Result]:
    """Measure each region; one that cannot be measured is noted and the rest go on."""
    results, faults = {}, {}
    for region in regions:
        try:
            results[region.name] = measure(region)
        except RegionError as error:
            faults[region.name] = str(error)
    return Readings(results, faults)
