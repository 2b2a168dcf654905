"""Dots of a light tint: how many, how large, how evenly placed, and how far to trust that.

Evenness compares the mean distance to the nearest neighbour with that of dots at random, 1/2
density^-1/2 (Clark and Evans, Ecology 35 (1954) 445; from memory), and with that of a hexagonal
lattice, the evenest there is, (2/sqrt(3))^1/2 density^-1/2 (derived).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.dots.cautions import DotSizeBlurred, DotsTooSmall, DotsTouch
from dotloupe.measure.dots.finding import FoundDots, find_dots
from dotloupe.measure.jackknife import jackknife, left_out
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.uncertainty import Uncertainty

Trust = Literal["good", "limited", "none"]
IndexArray: TypeAlias = NDArray[np.intp]

LATTICE_RATIO = 2 * (2 / 3**0.5) ** 0.5
"""Nearest-neighbour ratio of a hexagonal lattice: 2.149."""
FEWEST_DOTS = 40
TILES_A_SIDE = 4
GUARD = 1.0
"""Width of the rim whose dots are neighbours only, in mean spacings."""
TAPER = 2.0
"""Width over which the count fades out towards the rim, in mean spacings: a lattice that happens
to begin or end at the rim counts right."""
GOOD_PX, LIMITED_PX = 5.0, 3.0
"""Pixels across a dot from which its size can be trusted, and from which it can be counted."""
TOUCHING, CROWDED = 0.05, 0.15
"""Shares of dots half as large again as the usual one from which touching dots raise the evenness
noticeably, and from which they spoil it."""
DARKEST = 0.35
"""Share of covered area beyond which a tint is no light tint."""


@dataclass(frozen=True)
class Dots:
    """Dots of one light tint.

    Attributes
    ----------
    density, density_interval : float, (float, float)
        Dots per mm^2, with its 95 % interval.
    size_um : float
        Median diameter of the area darker than half a dot's depth; the camera's blur stays in.
    nearest_um, nearest_interval : float, (float, float)
        Mean distance to the nearest neighbour.
    to_random, to_random_interval : float, (float, float)
        That distance over that of dots at random: 1 for random, 2.149 for a hexagonal lattice,
        under 1 for dots in clumps.
    to_lattice, to_lattice_interval : float, (float, float)
        That distance over that of a hexagonal lattice: 1 for the evenest placing.
    density_uncertainty, nearest_uncertainty, to_lattice_uncertainty : Uncertainty
        What those intervals were made of.
    spacing_variation : float
        Standard deviation over mean of the distances: 0 for a lattice, 0.523 for random.
    touching : float
        Share of dots half as large again in area as the usual one, likely several in one.
    pixels_per_dot : float
        Diameter of a dot in pixels.
    trust : {"good", "limited", "none"}
        "good": number, place and size hold. "limited": number and place do. "none": dots run
        together in the capture or on the paper, the numbers describe what is left of them.
    x_mm, y_mm : ndarray of shape (n,)
        Centres, from the region's top left corner, to be drawn.
    cautions : tuple of Caution
    """

    density: float
    density_interval: Interval
    density_uncertainty: Uncertainty
    size_um: float
    nearest_um: float
    nearest_interval: Interval
    nearest_uncertainty: Uncertainty
    to_random: float
    to_random_interval: Interval
    to_lattice: float
    to_lattice_interval: Interval
    to_lattice_uncertainty: Uncertainty
    spacing_variation: float
    touching: float
    pixels_per_dot: float
    trust: Trust
    x_mm: FloatArray
    y_mm: FloatArray
    cautions: tuple[Caution, ...]


def dots(reflectance: FloatArray, pixels_per_mm: float) -> Dots:
    """Find the dots of a light tint and describe how they lie.

    Parameters
    ----------
    reflectance : ndarray of shape (h, w)
        Linear reflectance of a region of one light tint, in the channel that shows its ink best.
    pixels_per_mm : float
        Sampling of the region.

    Returns
    -------
    Dots

    Raises
    ------
    RegionError
        No dots clear of the grain, fewer than 40 of them, a tint too dark to tell them apart, an
        edge, or a region that cannot be measured at all.

    Notes
    -----
    Dots within one mean spacing of the region's rim serve as neighbours only, so that those
    outside, unseen, bias nothing. Intervals leave out a sixteenth of the area at a time.
    """
    region = checked_region(reflectance, pixels_per_mm, what="dots", least_px=64)
    found = find_dots(region)
    _check(found)
    per_dot = float(np.sqrt(4 * np.median(found.area) / np.pi))
    tile = _tiles(found, region.shape)
    counted, tile_area = _tapered_counts(found, tile, region.shape)
    density = float(counted.sum() / tile_area.sum()) * pixels_per_mm**2
    nearest, at = _nearest(found, region.shape)
    um = 1000 / pixels_per_mm
    means = np.array([nearest[tile[at] != t].mean() for t in range(TILES_A_SIDE**2)])
    without = left_out(counted) / left_out(tile_area) * pixels_per_mm**2
    unit = 2 * np.sqrt(density) / 1000
    ratio = float(nearest.mean() * um * unit)
    ratio_error = jackknife(means * um * 2 * np.sqrt(without) / 1000)
    half_ratio = ratio_error.half_width
    density_error, nearest_error = jackknife(without), jackknife(means)
    touching = float(np.mean(found.area > 1.5 * np.median(found.area)))
    trust, cautions = _trust(per_dot, touching)
    return Dots(
        density=density,
        density_interval=_around(density, density_error.half_width),
        density_uncertainty=density_error,
        size_um=per_dot * um,
        nearest_um=float(nearest.mean() * um),
        nearest_interval=_around(float(nearest.mean() * um), nearest_error.half_width * um),
        nearest_uncertainty=nearest_error.scaled(um),
        to_random=ratio,
        to_random_interval=_around(ratio, half_ratio),
        to_lattice=ratio / LATTICE_RATIO,
        to_lattice_interval=_around(ratio / LATTICE_RATIO, half_ratio / LATTICE_RATIO),
        to_lattice_uncertainty=ratio_error.scaled(1 / LATTICE_RATIO),
        spacing_variation=float(nearest.std() / nearest.mean()),
        touching=touching,
        pixels_per_dot=per_dot,
        trust=trust,
        x_mm=(found.x + 0.5) / pixels_per_mm,
        y_mm=(found.y + 0.5) / pixels_per_mm,
        cautions=cautions,
    )


def _around(value: float, half: float) -> Interval:
    return value - half, value + half


def _check(found: FoundDots) -> None:
    if found.covered > DARKEST:
        raise RegionError(
            f"dots: {100 * found.covered:.0f} % of the region is covered, too dark a tint to tell "
            "dots apart; take a lighter one."
        )
    if len(found.x) < FEWEST_DOTS:
        raise RegionError(
            f"dots: only {len(found.x)} dots in the region, at least {FEWEST_DOTS} are needed; "
            "take a larger region."
        )


def _tiles(found: FoundDots, shape: tuple[int, ...]) -> IndexArray:
    """Number of the tile in which each dot lies."""
    row, column = _tile_along(found.y, shape[0]), _tile_along(found.x, shape[1])
    return np.asarray(row * TILES_A_SIDE + column)


def _tile_along(place: FloatArray, length: int) -> IndexArray:
    return np.clip((place + 0.5) * TILES_A_SIDE / length, 0, TILES_A_SIDE - 1).astype(np.intp)


def _tapered_counts(
    found: FoundDots, tile: IndexArray, shape: tuple[int, ...]
) -> tuple[FloatArray, FloatArray]:
    """Dots and pixels in each tile, both counted with a weight that fades out towards the rim."""
    taper = TAPER * np.sqrt(shape[0] * shape[1] / len(found.x))
    weight, areas = np.ones(len(found.x)), np.ones((1, 1))
    for place, length in ((found.y, shape[0]), (found.x, shape[1])):
        faded = min(taper, length / 4)
        weight *= _fade(place, length, faded)
        along = _fade(np.arange(float(length)), length, faded)
        part = np.bincount(_tile_along(np.arange(float(length)), length), weights=along)
        areas = areas[..., None] * part
    counted = np.bincount(tile, weights=weight, minlength=TILES_A_SIDE**2)
    return np.asarray(counted), np.asarray(areas.ravel())


def _fade(place: FloatArray, length: int, faded: float) -> FloatArray:
    """Weight from 0 at the rim to 1 from `faded` pixels inside it."""
    from_rim = np.minimum(place + 0.5, length - 0.5 - place)
    return np.asarray(np.sin(np.pi / 2 * np.clip(from_rim / faded, 0, 1)) ** 2)


def _nearest(found: FoundDots, shape: tuple[int, ...]) -> tuple[FloatArray, IndexArray]:
    """Distances in pixels to the nearest neighbour of dots inside the rim, and their indices."""
    from scipy.spatial import cKDTree

    place = np.stack([found.x, found.y], axis=1)
    distance = np.asarray(cKDTree(place).query(place, k=2)[0])[:, 1]
    rim = GUARD * np.sqrt(shape[0] * shape[1] / len(place))
    size = np.array([shape[1], shape[0]])
    inside = ((place > rim - 0.5) & (place < size - 0.5 - rim)).all(axis=1)
    at = np.flatnonzero(inside)
    return distance[at], at


def _trust(pixels_per_dot: float, touching: float) -> tuple[Trust, tuple[Caution, ...]]:
    cautions: list[Caution] = []
    if pixels_per_dot < LIMITED_PX:
        cautions.append(DotsTooSmall(pixels_per_dot))
    elif pixels_per_dot < GOOD_PX:
        cautions.append(DotSizeBlurred(pixels_per_dot))
    if touching > TOUCHING:
        cautions.append(DotsTouch(touching))
    if pixels_per_dot < LIMITED_PX or touching > CROWDED:
        return "none", tuple(cautions)
    good = pixels_per_dot >= GOOD_PX and touching <= TOUCHING
    return ("good" if good else "limited"), tuple(cautions)
