"""The plan of a patch: every element's rectangle in millimetres."""

from __future__ import annotations

import math

from dotloupe.patch.bar_groups import Room, pack_bars
from dotloupe.patch.contrast_cells import contrast_cells
from dotloupe.patch.corner_marks import CORNERS, PatchKind
from dotloupe.patch.region import Axis, Region
from dotloupe.units import MM_PER_INCH

WIDTH_MM, HEIGHT_MM = 30.0, 20.0
MARK_MM = 2.4
MARGIN_MM = 0.5
CLEAR_MM = 0.6

CODE_MM = 4.2
SMALL_CODE_MM = 3.0
FIELD_MM = 5.3
SLANT_DEG = 5.0
STRIPE_MM = 1.2
"""Width of the stripes of the mid-tone fields, dark and light: four edges to a field."""
EDGE_LENGTH_MM = 4.7
EDGE_HALF_WIDTH_MM = 0.55
SQUARE_MM = 3.2
"""Side of the slanted square of the dark field."""
SIDE_LENGTH_MM = 2.4
SIDE_HALF_WIDTH_MM = 0.8
LINE_GRID_MM = MM_PER_INCH / 120
"""Borders of lines lie on this grid, whose places are borders of pixels, or every other one
theirs and the rest their middles, at every multiple of 60 pixels per inch: no raster then moves
the lines of one ink against those of another."""
LINE_WIDTH_MM = LINE_GRID_MM
LINE_PITCH_MM = 3 * LINE_GRID_MM
LINE_LENGTH_MM = 2.3
LINE_INKS = ("black", "cyan", "magenta", "yellow", "yellow", "magenta", "cyan", "black")
"""Inks in order of place; in mirror order, so that a scale, a turn or half a pixel that falls to
one half of the lines falls to all inks alike."""
BAR_LENGTH_MM = 1.17
BAR_ROWS_MM = 8.0

EDGE_TONES: dict[str, tuple[float, float]] = {"mid": (0.64, 0.16), "dark": (0.24, 0.06)}
"""Reflectance of a field and of the slanted shapes on it: 4:1, the contrast of ISO 12233:2014
(from memory)."""

PAPER_TONE = "paper"
GREYS: dict[str, float] = {
    PAPER_TONE: 1.0,
    "grey80": 0.8,
    "grey60": 0.6,
    "grey40": 0.4,
    "grey25": 0.25,
    "grey10": 0.1,
}
COLOURS: dict[str, tuple[float, float, float]] = {
    "light_cyan": (0.45, 0.85, 0.95),
    "light_magenta": (0.9, 0.45, 0.75),
}
LARGE_TINTS: dict[str, float] = {"grey40": 0.4, "grey15": 0.15}
LARGE_TINT_MM = 12.7
"""Least side of a region for graininess in ISO/IEC 13660:2001 (from memory)."""

FRAMED_MM = (28.0, 12.7)
"""Width and height of the part of a picture that a frame of marks takes."""

TINT_MM = 3.1
_TOP_MM = MARGIN_MM + MARK_MM
_ROW_MM = MARGIN_MM + MARK_MM + MARGIN_MM
_MIDDLE_MM = _ROW_MM + TINT_MM + CLEAR_MM
_BOTTOM_MM = _MIDDLE_MM + FIELD_MM + CLEAR_MM
_INNER_X_MM = MARGIN_MM + MARK_MM + CLEAR_MM


def patch_regions(kind: PatchKind) -> dict[str, Region]:
    """Rectangles of every element of a kind of patch, by name."""
    makers = {
        "detail": _detail_parts,
        "tints": _tint_parts,
        "contrast": _contrast_parts,
        "picture": _framed_parts,
    }
    parts = (*_marks(), _words(), *makers[kind]())
    return {region.name: region for region in parts}


def _marks() -> tuple[Region, ...]:
    right, bottom = WIDTH_MM - MARGIN_MM - MARK_MM, HEIGHT_MM - MARGIN_MM - MARK_MM
    places = ((MARGIN_MM, MARGIN_MM), (right, MARGIN_MM), (right, bottom), (MARGIN_MM, bottom))
    return tuple(
        Region(f"mark_{corner.replace(' ', '_')}", "mark", x, y, MARK_MM, MARK_MM, number=number)
        for number, (corner, (x, y)) in enumerate(zip(CORNERS, places, strict=True), start=1)
    )


def _words() -> Region:
    return Region(
        "words", "text", _INNER_X_MM, MARGIN_MM, WIDTH_MM - 2 * _INNER_X_MM, _TOP_MM - MARGIN_MM
    )


def _detail_parts() -> tuple[Region, ...]:
    left_mm = [field_centre_mm(i)[0] - FIELD_MM / 2 for i in range(5)]
    texture = Region("texture", "texture", left_mm[3], _MIDDLE_MM, FIELD_MM, FIELD_MM)
    return (
        *_small_tints(),
        *_stripe_edges("x", 0),
        *_stripe_edges("y", 1),
        *_square_edges(2),
        texture,
        *_lines(left_mm[4]),
        *_bars_and_code(),
    )


def _small_tints() -> tuple[Region, ...]:
    names = (*GREYS, *COLOURS)
    step = (WIDTH_MM - 2 * MARGIN_MM - TINT_MM) / (len(names) - 1)
    return tuple(
        _tint(name, MARGIN_MM + i * step, _ROW_MM, TINT_MM) for i, name in enumerate(names)
    )


def _tint(tone: str, x_mm: float, y_mm: float, side_mm: float) -> Region:
    return Region(
        f"tint_{tone}",
        "tint",
        x_mm,
        y_mm,
        side_mm,
        side_mm,
        tone=tone,
        reflectance=grey_reflectance(tone),
    )


def grey_reflectance(tone: str) -> float | None:
    """Linear reflectance sent for a neutral tint, relative to the paper; None of other tints."""
    return GREYS.get(tone, LARGE_TINTS.get(tone))


def field_centre_mm(column: int) -> tuple[float, float]:
    """Centre of a field of the middle row."""
    step = FIELD_MM + CLEAR_MM
    return MARGIN_MM + column * step + FIELD_MM / 2, _MIDDLE_MM + FIELD_MM / 2


def _stripe_edges(direction: Axis, column: int) -> tuple[Region, ...]:
    """The four edges of a field's two slanted stripes, each in a rectangle of its own."""
    x, y = field_centre_mm(column)
    width, height = 2 * EDGE_HALF_WIDTH_MM, EDGE_LENGTH_MM
    regions = []
    for i in range(4):
        along = (i - 1.5) * STRIPE_MM
        if direction == "x":
            place = (x + along - width / 2, y - height / 2, width, height)
        else:
            place = (x - height / 2, y + along - width / 2, height, width)
        name = f"edge_mid_{direction}_{i + 1}"
        regions.append(Region(name, "edge", *place, direction=direction, tone="mid", number=i + 1))
    return tuple(regions)


def _square_edges(column: int) -> tuple[Region, ...]:
    """The four sides of the dark field's slanted square."""
    centre_x, centre_y = field_centre_mm(column)
    across, length = 2 * SIDE_HALF_WIDTH_MM, SIDE_LENGTH_MM
    sides: tuple[tuple[Axis, int, float], ...] = (
        ("x", 1, 180),
        ("x", 2, 0),
        ("y", 1, 270),
        ("y", 2, 90),
    )
    regions = []
    for direction, number, turned_deg in sides:
        angle = math.radians(turned_deg + SLANT_DEG)
        x = centre_x + SQUARE_MM / 2 * math.cos(angle)
        y = centre_y + SQUARE_MM / 2 * math.sin(angle)
        width, height = (across, length) if direction == "x" else (length, across)
        place = (x - width / 2, y - height / 2, width, height)
        name = f"edge_dark_{direction}_{number}"
        regions.append(
            Region(name, "edge", *place, direction=direction, tone="dark", number=number)
        )
    return tuple(regions)


def _lines(field_x_mm: float) -> tuple[Region, ...]:
    """Two lines of each ink in each direction.

    Upright ones fill the top left and bottom right quarters of a field, level ones the others.
    """
    middle_x = _on_line_grid(field_x_mm + FIELD_MM / 2)
    middle_y = _on_line_grid(_MIDDLE_MM + FIELD_MM / 2)
    half = len(LINE_INKS) // 2
    quarter = half * LINE_PITCH_MM
    inset = (quarter - LINE_LENGTH_MM) / 2
    regions = []
    for i, ink in enumerate(LINE_INKS):
        across = (i - half) * LINE_PITCH_MM
        before, after = inset - quarter, inset
        upright_y, level_x = (before, after) if i < half else (after, before)
        upright = (middle_x + across, middle_y + upright_y, LINE_PITCH_MM, LINE_LENGTH_MM)
        level = (middle_x + level_x, middle_y + across, LINE_LENGTH_MM, LINE_PITCH_MM)
        regions += [
            Region(f"line_x_{i}_{ink}", "line", *upright, direction="x", ink=ink, number=i + 1),
            Region(f"line_y_{i}_{ink}", "line", *level, direction="y", ink=ink, number=i + 1),
        ]
    return tuple(regions)


def _on_line_grid(place_mm: float) -> float:
    """The nearest place about which pixels mirror, whatever multiple of 60 ppi they have."""
    return round(place_mm / (2 * LINE_GRID_MM)) * 2 * LINE_GRID_MM


def _bars_and_code() -> tuple[Region, ...]:
    depth = HEIGHT_MM - MARGIN_MM - _BOTTOM_MM
    rows = Room(_INNER_X_MM, _BOTTOM_MM, BAR_ROWS_MM, depth)
    columns_x = rows.x_mm + rows.width_mm + CLEAR_MM
    code_x = WIDTH_MM - _INNER_X_MM - CLEAR_MM - CODE_MM
    columns = Room(columns_x, _BOTTOM_MM, code_x - CLEAR_MM - columns_x, depth)
    code = Region("code", "code", code_x, _BOTTOM_MM + (depth - CODE_MM) / 2, CODE_MM, CODE_MM)
    return *pack_bars(rows, columns, BAR_LENGTH_MM), code


def _tint_parts() -> tuple[Region, ...]:
    y_mm = _TOP_MM + MARGIN_MM
    lefts = ((WIDTH_MM - CLEAR_MM) / 2 - LARGE_TINT_MM, (WIDTH_MM + CLEAR_MM) / 2)
    tints = (
        _tint(name, x_mm, y_mm, LARGE_TINT_MM)
        for (name, x_mm) in zip(LARGE_TINTS, lefts, strict=True)
    )
    return *tints, _small_code(y_mm + LARGE_TINT_MM)


def _contrast_parts() -> tuple[Region, ...]:
    y_mm = _TOP_MM + MARGIN_MM
    code = _small_code(y_mm + LARGE_TINT_MM)
    fields = Room(MARGIN_MM, y_mm, WIDTH_MM - 2 * MARGIN_MM, LARGE_TINT_MM)
    below_mm, height = code.y_mm, HEIGHT_MM - MARGIN_MM - code.y_mm
    width = code.x_mm - MARGIN_MM - _INNER_X_MM
    left = Room(_INNER_X_MM, below_mm, width, height)
    right = Room(WIDTH_MM - _INNER_X_MM - width, below_mm, width, height)
    return *contrast_cells(fields, left, right), code


def _framed_parts() -> tuple[Region, ...]:
    width, height = FRAMED_MM
    y_mm = _TOP_MM + MARGIN_MM
    picture = Region("picture", "picture", (WIDTH_MM - width) / 2, y_mm, width, height)
    return picture, _small_code(y_mm + height)


def _small_code(below_mm: float) -> Region:
    """Code in the middle between the lower marks."""
    place = ((WIDTH_MM - SMALL_CODE_MM) / 2, below_mm + MARGIN_MM)
    return Region("code", "code", *place, SMALL_CODE_MM, SMALL_CODE_MM)
