"""The shapes that fill a patch's rectangles."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.patch import layout
from dotloupe.patch.area_sampling import Cells, Colour, Polygon, Shape, Sine, uniform
from dotloupe.patch.contrast_cells import channel_swings
from dotloupe.patch.corner_marks import PatchCode, code_modules, mark_modules
from dotloupe.patch.lettering import lettering_cells
from dotloupe.patch.region import Region
from dotloupe.patch.texture import texture_cells

INK = 0.04
"""Linear reflectance asked for of marks, bars and words: dark, and above the blackest black, so
that a change of the black point does not change them."""

INK_COLOURS: dict[str, Colour] = {
    "black": (0.0, 0.0, 0.0),
    "cyan": (0.0, 1.0, 1.0),
    "magenta": (1.0, 0.0, 1.0),
    "yellow": (1.0, 1.0, 0.0),
}


def patch_shapes(
    regions: Mapping[str, Region], code: PatchCode, words: tuple[str, ...]
) -> tuple[Shape, ...]:
    """Every shape of a patch, in drawing order.

    Parameters
    ----------
    regions : mapping of str to Region
        Every element of the patch, by name.
    code : PatchCode
        What the marks and the small code carry.
    words : tuple of str
        Lines of lettering, from the top.
    """
    fill: dict[str, Callable[[Region], tuple[Shape, ...]]] = {
        "mark": lambda r: (_mark(r, code.run),),
        "code": lambda r: (_cells(r, _inked(code_modules(code))),),
        "text": lambda r: (_cells(r, lettering_cells(words, r.width_mm, r.height_mm, INK)),),
        "tint": lambda r: (uniform(r.x_mm, r.y_mm, r.width_mm, r.height_mm, _tint_colour(r)),),
        "texture": lambda r: (_cells(r, texture_cells(r.width_mm)),),
        "line": lambda r: (_line(r),),
        "bars": _bars,
        "plain": lambda r: (_plain(r),),
        "grating": _grating,
    }
    shapes: list[Shape] = []
    for region in regions.values():
        if region.kind in fill:
            shapes.extend(fill[region.kind](region))
    if any(region.kind == "edge" for region in regions.values()):
        shapes += [*_slanted_stripes("x", 0), *_slanted_stripes("y", 1), *_slanted_square(2)]
    return tuple(shapes)


def _tint_colour(tint: Region) -> Colour:
    """Linear reflectance sent for a tint."""
    if tint.reflectance is None:
        return layout.COLOURS[tint.tone]
    return tint.reflectance, tint.reflectance, tint.reflectance


def _inked(modules: FloatArray) -> FloatArray:
    return INK + (1.0 - INK) * modules


def _cells(region: Region, reflectance: FloatArray) -> Cells:
    grey = np.repeat(reflectance[..., None], 3, axis=2)
    return Cells(region.x_mm, region.y_mm, region.width_mm, region.height_mm, grey)


def _mark(region: Region, run: int) -> Cells:
    return _cells(region, _inked(mark_modules(run, region.number - 1)))


def _line(region: Region) -> Cells:
    (x, y), width = region.centre_mm, layout.LINE_WIDTH_MM
    colour = INK_COLOURS[region.ink]
    if region.direction == "x":
        return uniform(x - width / 2, region.y_mm, width, region.height_mm, colour)
    return uniform(region.x_mm, y - width / 2, region.width_mm, width, colour)


def _bars(region: Region) -> tuple[Cells, ...]:
    bar, pitch = 0.5 / region.frequency, 1 / region.frequency
    ink = (INK, INK, INK)
    if region.direction == "x":
        return tuple(
            uniform(region.x_mm + i * pitch, region.y_mm, bar, region.height_mm, ink)
            for i in range(region.bars)
        )
    return tuple(
        uniform(region.x_mm, region.y_mm + i * pitch, region.width_mm, bar, ink)
        for i in range(region.bars)
    )


def _plain(region: Region) -> Cells:
    """A cell of the grey that a grating swings about."""
    return uniform(
        region.x_mm, region.y_mm, region.width_mm, region.height_mm, _tint_colour(region)
    )


def _grating(region: Region) -> tuple[Cells, Sine]:
    if region.direction is None:
        raise ValueError(f"{region.name} has no direction")
    place = (region.x_mm, region.y_mm, region.width_mm, region.height_mm)
    swings = channel_swings(region)
    return _plain(region), Sine(*place, region.frequency, region.direction, swings)


def _field(column: int, tone: str) -> tuple[Cells, Colour]:
    """A field of one grey, and the change from it to the darker shapes on it."""
    x, y = layout.field_centre_mm(column)
    light, dark = layout.EDGE_TONES[tone]
    side = layout.FIELD_MM
    field = uniform(x - side / 2, y - side / 2, side, side, (light, light, light))
    return field, (dark - light, dark - light, dark - light)


def _slanted_stripes(direction: str, column: int) -> tuple[Cells, Polygon, Polygon]:
    """Two dark stripes across a field, slanted against the axis that they run along."""
    field, change = _field(column, "mid")
    x, y = layout.field_centre_mm(column)
    half, drift = layout.FIELD_MM / 2, layout.FIELD_MM / 2 * np.tan(np.deg2rad(layout.SLANT_DEG))
    stripes = []
    for middle in (-layout.STRIPE_MM, layout.STRIPE_MM):
        low, high = middle - layout.STRIPE_MM / 2, middle + layout.STRIPE_MM / 2
        corners = np.array(
            [(low - drift, -half), (high - drift, -half), (high + drift, half), (low + drift, half)]
        )
        corners = corners if direction == "x" else corners[:, ::-1]
        stripes.append(Polygon(corners + np.array([x, y]), change))
    return field, stripes[0], stripes[1]


def _slanted_square(column: int) -> tuple[Cells, Polygon]:
    """A dark square on a field, turned by the slant."""
    field, change = _field(column, "dark")
    half, slant = layout.SQUARE_MM / 2, np.deg2rad(layout.SLANT_DEG)
    turn = np.array([[np.cos(slant), -np.sin(slant)], [np.sin(slant), np.cos(slant)]])
    corners = np.array([(-half, -half), (half, -half), (half, half), (-half, half)]) @ turn.T
    return field, Polygon(corners + np.array(layout.field_centre_mm(column)), change)
