"""Groups of bars: their frequencies, and how they are packed into the room that a patch has."""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.patch.region import Region

FIRST_GROUP, LAST_GROUP = 6, 26
BARS = 5
GAP_MM = 0.5


def _frequencies_lp_mm() -> tuple[float, ...]:
    """Frequencies of the groups, 2 to 20.2 lp/mm in steps of the sixth root of two.

    The series is that of the 1951 bar target: 2^(group + (element - 1) / 6) (MIL-STD-150A).
    """
    return tuple(2 ** (k / 6) for k in range(FIRST_GROUP, LAST_GROUP + 1))


def block_mm(frequency: float) -> float:
    """Extent of a group across its bars: equal bars and spaces, a bar at both ends."""
    return (BARS - 0.5) / frequency


@dataclass(frozen=True)
class Room:
    """A rectangle to pack groups into, in mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def pack_bars(across_x: Room, across_y: Room, bar_length_mm: float) -> tuple[Region, ...]:
    """Place one group per frequency and direction.

    Parameters
    ----------
    across_x : Room
        Takes the groups that modulate along x, in rows.
    across_y : Room
        Takes the groups that modulate along y, in columns.
    bar_length_mm : float
        Length of every bar.

    Returns
    -------
    tuple of Region
        From the lowest frequency to the highest, x before y.
    """
    blocks = [block_mm(f) for f in _frequencies_lp_mm()]
    in_rows = _fill_shelves(blocks, across_x.width_mm)
    in_columns = _fill_shelves(blocks, across_y.height_mm)
    step = bar_length_mm + GAP_MM
    regions = [
        Region(
            f"bars_x_{f:.2f}",
            "bars",
            across_x.x_mm + along,
            across_x.y_mm + shelf * step,
            block_mm(f),
            bar_length_mm,
            direction="x",
            frequency=f,
            bars=BARS,
        )
        for f, (shelf, along) in zip(_frequencies_lp_mm(), in_rows, strict=True)
    ]
    regions += [
        Region(
            f"bars_y_{f:.2f}",
            "bars",
            across_y.x_mm + shelf * step,
            across_y.y_mm + along,
            bar_length_mm,
            block_mm(f),
            direction="y",
            frequency=f,
            bars=BARS,
        )
        for f, (shelf, along) in zip(_frequencies_lp_mm(), in_columns, strict=True)
    ]
    return tuple(regions)


def _fill_shelves(blocks_mm: list[float], shelf_mm: float) -> list[tuple[int, float]]:
    """Shelf number and place along it for each block, each on the first shelf with room."""
    used: list[float] = []
    places = []
    for block in blocks_mm:
        shelf = next((i for i, u in enumerate(used) if u + block <= shelf_mm + 1e-9), len(used))
        if shelf == len(used):
            used.append(0.0)
        places.append((shelf, used[shelf]))
        used[shelf] += block + GAP_MM
    return places
