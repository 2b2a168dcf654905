"""What the lines of a patch say of the head: ink planes against black, passes, ragged borders."""

from __future__ import annotations

from dotloupe.errors import RegionError
from dotloupe.measure.lines import (
    LineWindow,
    Runs,
    doubling,
    plane_offsets,
    printed_line,
)
from dotloupe.measurement import Placement
from dotloupe.patch import Axis, Region
from dotloupe.registration import Cut, View

BLOCK_MARGIN_MM = 0.1
LEAST_PER_MM = 100.0
"""Sampling kept for lines: their places are read to a small part of a pixel."""
BLACK = "black"


def measure_placement(view: View, axis: Axis) -> Placement:
    """Measure the lines that show placement along one axis.

    Raises
    ------
    RegionError
        The lines are not all there, or the patch has none.
    """
    regions = list(view.regions("line", axis))
    if not regions:
        raise RegionError("this kind of patch has no lines")
    block = _block(regions)
    cut = view.cut(block, BLOCK_MARGIN_MM, least_per_mm=LEAST_PER_MM)
    runs: Runs = "vertical" if axis == "x" else "horizontal"
    per_mm = cut.pixels_per_mm_x if axis == "x" else cut.pixels_per_mm_y
    windows = [_window(r, block, cut, axis, per_mm) for r in regions]
    black = [view.cut(r, least_per_mm=LEAST_PER_MM).luminance for r in regions if r.ink == BLACK]
    return Placement(
        planes=plane_offsets(cut.reflectance, per_mm, windows, runs=runs, reference=BLACK),
        lines=tuple(printed_line(line, per_mm, runs=runs) for line in black),
        passes=tuple(doubling(line, per_mm, runs=runs) for line in black),
    )


def _block(regions: list[Region]) -> Region:
    """The rectangle that holds all lines of one axis."""
    left, top = min(r.x_mm for r in regions), min(r.y_mm for r in regions)
    right = max(r.x_mm + r.width_mm for r in regions)
    bottom = max(r.y_mm + r.height_mm for r in regions)
    axis = regions[0].direction
    return Region("lines", "line", left, top, right - left, bottom - top, direction=axis)


def _window(region: Region, block: Region, cut: Cut, axis: Axis, per_mm: float) -> LineWindow:
    """A line's rectangle in the cut, in mm of the scale across the lines."""
    (x, y), (block_x, block_y) = region.centre_mm, block.centre_mm
    centre_x = (cut.centre_px[0] + 0.5 + (x - block_x) * cut.pixels_per_mm_x) / per_mm
    centre_y = (cut.centre_px[1] + 0.5 + (y - block_y) * cut.pixels_per_mm_y) / per_mm
    width = region.width_mm * cut.pixels_per_mm_x / per_mm
    height = region.height_mm * cut.pixels_per_mm_y / per_mm
    return LineWindow(
        plane=region.ink,
        left_mm=centre_x - width / 2,
        top_mm=centre_y - height / 2,
        width_mm=width,
        height_mm=height,
        drawn_mm=x if axis == "x" else y,
    )
