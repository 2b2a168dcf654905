"""Every element of a photographed patch, measured: from capture and registration to results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Generic, Literal, TypeVar

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.evaluate.ink_placement import measure_placement
from dotloupe.measure import Camera
from dotloupe.measure.bars import LinePairs, line_pairs
from dotloupe.measure.dots import Dots, dots
from dotloupe.measure.edge import EdgeResponse, slanted_edge
from dotloupe.measure.grain import BlankPaper, Grain, blank_paper, grain
from dotloupe.measure.texture import Transfer, transfer
from dotloupe.measurement import Placement
from dotloupe.patch import COLOURS, PAPER_TONE, Axis, Region, texture_at_pixels
from dotloupe.registration import View

BARS_MARGIN_MM = 0.22
TINT_MARGIN_MM = -0.2
TEXTURE_MARGIN_MM = -0.15
LEAST_PER_MM_FOR_DOTS = 100.0
"""Sampling kept for single dots: whether two that touch are told apart hangs on it."""
LIGHT_TONES = ("grey80", *COLOURS)
"""Tints so light that their dots can lie apart."""
AXES: tuple[Axis, Axis] = ("x", "y")

Item = TypeVar("Item")
Result = TypeVar("Result")


@dataclass(frozen=True)
class Readings(Generic[Result]):
    """Results of the elements of one kind, and why some have none, by name."""

    results: dict[str, Result]
    faults: dict[str, str]


def measure_edges(
    view: View, camera: Camera | None, regions: Iterable[Region] | None = None
) -> Readings[EdgeResponse]:
    """Slanted-edge response of every edge, or of those given, by region.

    Parameters
    ----------
    view : View
    camera : EdgeResponse or (frequency, mtf), optional
        Response of the camera, to be divided out.
    regions : iterable of Region, optional
    """

    def measure(region: Region) -> EdgeResponse:
        cut = view.cut(region)
        per_mm = cut.pixels_per_mm_x if region.direction == "x" else cut.pixels_per_mm_y
        return slanted_edge(cut.luminance, per_mm, camera_mtf=camera)

    return _each(_named(view.regions("edge") if regions is None else regions), measure)


def measure_bars(view: View, axis: Axis) -> Readings[LinePairs]:
    """Every bar group of one direction, by region; contrast relative to paper and mark black."""
    levels = (1.0, view.mark_black)

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

    return _each(_named(view.regions("bars", axis)), measure)


def measure_tints(
    view: View,
    camera: Camera | None,
    viewing_distance_mm: float,
    *,
    second: View | None = None,
) -> Readings[Grain]:
    """Grain of every printed tint, by region, less that of the blank paper.

    Parameters
    ----------
    view : View
    camera : EdgeResponse or (frequency, mtf), optional
        Response of the camera, to be divided out.
    viewing_distance_mm : float
        From which the print is looked at.
    second : View, optional
        Another shot of the unmoved print: the camera's noise cancels.
    """
    paper = next((r for r in view.regions("tint") if r.tone == PAPER_TONE), None)

    def tint(shot: View, region: Region) -> FloatArray:
        return shot.cut(region, TINT_MARGIN_MM).luminance

    @cache
    def blank() -> BlankPaper | None:
        if paper is None:
            return None
        first = tint(view, paper)
        both = first if second is None else (first, tint(second, paper))
        return blank_paper(both, view.pixels_per_mm)

    def measure(region: Region) -> Grain:
        found = grain(
            tint(view, region),
            view.pixels_per_mm,
            second_shot=None if second is None else tint(second, region),
            paper=blank(),
            camera_mtf=camera,
            viewing_distance_mm=viewing_distance_mm,
        )
        return replace(found, spectrum=None)

    printed = (r for r in view.regions("tint") if r.tone != PAPER_TONE)
    return _each(_named(printed), measure)


def measure_placements(view: View) -> Readings[Placement]:
    """Placement along each axis that the patch has lines for, by axis."""
    axes: dict[str, Axis] = {
        a: a for a in AXES if view.shown.shows_all("line", a) and any(view.regions("line", a))
    }
    return _each(axes, lambda axis: measure_placement(view, axis))


def measure_dots(view: View) -> Readings[Dots]:
    """Single dots of the light tints, in the channel that is darkest there, by region."""

    def measure(region: Region) -> Dots:
        cut = view.cut(region, TINT_MARGIN_MM, least_per_mm=LEAST_PER_MM_FOR_DOTS)
        darkest = int(np.argmin(cut.reflectance.mean(axis=(0, 1))))
        return dots(cut.reflectance[..., darkest], view.sampling(LEAST_PER_MM_FOR_DOTS))

    light = (r for r in view.regions("tint") if r.tone in LIGHT_TONES)
    return _each(_named(light), measure)


def measure_texture(view: View) -> Readings[Transfer]:
    """Transfer of the patch's texture, from its continuous drawing to the capture, by region."""

    def measure(region: Region) -> Transfer:
        cut = view.cut(region, TEXTURE_MARGIN_MM)
        rows, columns = cut.luminance.shape
        drawn = texture_at_pixels(cut.homography, (rows, columns), region, scale=view.patch.scale)
        return transfer(drawn, cut.luminance, view.pixels_per_mm)

    return _each(_named(view.regions("texture")), measure)


def _named(regions: Iterable[Region]) -> dict[str, Region]:
    return {region.name: region for region in regions}


def _each(items: Mapping[str, Item], measure: Callable[[Item], Result]) -> Readings[Result]:
    """Measure each item; one that cannot be measured is noted and the rest go on."""
    results, faults = {}, {}
    for name, item in items.items():
        try:
            results[name] = measure(item)
        except RegionError as error:
            faults[name] = str(error)
    return Readings(results, faults)
