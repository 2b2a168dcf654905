"""Gratings of every contrast, tone and colour: what a contrast patch holds, and where.

Gratings are sines. A sine has one frequency, so what is printed of it is printed at the modulation
that is stated; bars would send a third of it at three times the frequency too, and 4/pi of it at
their own. What bars would show follows from sines by the square wave's series.

Every grating is printed twice, at places that mirror each other about the middle of the patch: a
gradient of light or focus falls to all alike. The places are random, from a fixed seed.

What the patch has no room for, in 30 x 20 mm with cells of two periods and 1 mm2 or more:

- modulations between 0.04, 0.1, 0.25 and 0.8; half of the steps of the 1951 bar target;
- strong gratings at low frequency, which every print keeps, and the faintest at high frequency,
  which hardly any keeps: `FREQUENCIES` says which there are;
- colour at more than one strength, along the yellow-blue axis, and below 2.8 lp/mm;
- directions between the two axes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from dotloupe.patch.bar_groups import GAP_MM, Room
from dotloupe.patch.region import Axis, Region

CONTRAST_TONES: dict[str, float] = {"light": 0.55, "middle": 0.25, "dark": 0.1}
"""Mean reflectance of the gratings: L* of 79, 57 and 38."""
COLOUR_TONE = "colour"
COLOUR_MEAN = 0.4
FREQUENCIES: dict[float, tuple[float, ...]] = {
    0.04: (1.0, 2.0, 2**1.5, 4.0),
    0.1: (1.0, 2.0, 2**1.5, 4.0, 2**2.5, 8.0, 2**3.5),
    0.25: (4.0, 2**2.5, 8.0, 2**3.5),
    0.8: (2**2.5, 8.0, 2**3.5),
}
"""lp/mm of the gratings of each modulation, 2^(k / 2) as every third element of the 1951 bar
target (MIL-STD-150A)."""
COLOUR_FREQUENCIES = (2**1.5, 4.0, 2**2.5, 8.0)
COLOUR_MODULATION = 0.25
"""Of the channel that an ink takes most of."""
LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Share of each channel in the luminance (IEC 61966-2-1)."""
COLOUR_INKS: dict[str, int] = {"cyan": 0, "magenta": 1}
"""An ink that is set against the other two over each other, and the channel that it takes."""
DOUBLE_BELOW = 1.5
"""lp/mm under which a grating takes two cells."""
COLUMNS, ROWS = 4, 11
"""Cells of a tone's field."""
COLOUR_COLUMNS, COLOUR_ROWS = 9, 2
SEED = 22


@dataclass(frozen=True)
class _Item:
    """What fills one cell, or several that lie together: plain tint where the frequency is 0."""

    columns: int = 1
    rows: int = 1
    direction: Axis | None = None
    frequency: float = 0.0
    modulation: float = 0.0
    ink: str = ""


def contrast_cells(fields: Room, left: Room, right: Room) -> tuple[Region, ...]:
    """Gratings and plain tints of a contrast patch.

    Parameters
    ----------
    fields : Room
        Takes the fields of the three tones, each twice: light, middle, dark, and back.
    left, right : Room
        Take the colour gratings, each once; they mirror each other.
    """
    rng = np.random.default_rng(SEED)
    regions: list[Region] = []
    width = (fields.width_mm - 4 * GAP_MM) / 6
    for number, (tone, mean) in enumerate(CONTRAST_TONES.items()):
        x_mm = fields.x_mm + number * (width + GAP_MM)
        mirrored_mm = 2 * fields.x_mm + fields.width_mm - x_mm - width
        rooms = tuple(Room(x, fields.y_mm, width, fields.height_mm) for x in (x_mm, mirrored_mm))
        placed = _placed(_tone_items(), (COLUMNS, ROWS), rng)
        regions += _mirrored(tone, mean, placed, (COLUMNS, ROWS), rooms)
    placed = _placed(_colour_items(), (COLOUR_COLUMNS, COLOUR_ROWS), rng)
    cells = (COLOUR_COLUMNS, COLOUR_ROWS)
    regions += _mirrored(COLOUR_TONE, COLOUR_MEAN, placed, cells, (left, right))
    return tuple(regions)


def channel_swings(region: Region) -> tuple[float, float, float]:
    """Amplitude of a grating in each channel, linear reflectance.

    A grey grating swings all channels alike. One of colour swings the channel of its ink against
    the other two so that the luminance stays.
    """
    if region.reflectance is None:
        raise ValueError(f"{region.name} is no grating")
    swing = region.modulation * region.reflectance
    if not region.ink:
        return swing, swing, swing
    own = COLOUR_INKS[region.ink]
    others = -LUMINANCE[own] / (1 - LUMINANCE[own])
    shares = [1.0 if channel == own else others for channel in range(3)]
    largest = max(abs(share) for share in shares)
    red, green, blue = (swing * share / largest for share in shares)
    return red, green, blue


def _tone_items() -> list[_Item]:
    axes: tuple[Axis, Axis] = ("x", "y")
    gratings = [
        _grating(axis, frequency, modulation)
        for axis in axes
        for modulation, frequencies in FREQUENCIES.items()
        for frequency in frequencies
    ]
    return [_Item(2, 2), *gratings]


def _grating(axis: Axis, frequency: float, modulation: float) -> _Item:
    cells = 2 if frequency < DOUBLE_BELOW else 1
    columns, rows = (cells, 1) if axis == "x" else (1, cells)
    return _Item(columns, rows, axis, frequency, modulation)


def _colour_items() -> list[_Item]:
    axes: tuple[Axis, Axis] = ("x", "y")
    gratings = [
        _Item(1, 1, axis, frequency, COLOUR_MODULATION, ink)
        for axis in axes
        for ink in COLOUR_INKS
        for frequency in COLOUR_FREQUENCIES
    ]
    return [_Item(1, 2), *gratings]


def _placed(
    items: list[_Item], cells: tuple[int, int], rng: np.random.Generator
) -> list[tuple[_Item, int, int]]:
    """Column and row of each item, the largest first, each at a free place by chance."""
    free = np.ones(cells[::-1], dtype=bool)
    placed = []
    for item in sorted(items, key=lambda i: -i.columns * i.rows):
        places = [
            (column, row)
            for column in range(cells[0] - item.columns + 1)
            for row in range(cells[1] - item.rows + 1)
            if free[row : row + item.rows, column : column + item.columns].all()
        ]
        column, row = places[rng.integers(len(places))]
        free[row : row + item.rows, column : column + item.columns] = False
        placed.append((item, column, row))
    return placed


def _mirrored(
    tone: str,
    mean: float,
    placed: list[tuple[_Item, int, int]],
    cells: tuple[int, int],
    rooms: tuple[Room, ...],
) -> Iterator[Region]:
    """Each item in its field, and turned about the middle in the field's mirror image."""
    for item, column, row in placed:
        turned = (cells[0] - column - item.columns, cells[1] - row - item.rows)
        for number, (room, place) in enumerate(zip(rooms, ((column, row), turned), strict=True), 1):
            width, height = room.width_mm / cells[0], room.height_mm / cells[1]
            yield Region(
                _name(tone, item, number),
                "grating" if item.frequency else "plain",
                room.x_mm + place[0] * width,
                room.y_mm + place[1] * height,
                item.columns * width,
                item.rows * height,
                direction=item.direction,
                tone=tone,
                reflectance=mean,
                ink=item.ink,
                frequency=item.frequency,
                modulation=item.modulation,
                number=number,
            )


def _name(tone: str, item: _Item, number: int) -> str:
    if not item.frequency:
        return f"plain_{tone}_{number}"
    what = item.ink or tone
    return f"grating_{what}_{item.direction}_{item.frequency:.2f}_{item.modulation:g}_{number}"
