"""Focus: how sharp the camera can be shown to be, where it is softer, and which way to mend it.

A camera blurs every edge of the print; a printer only makes some softer than others. So the camera
blurs no more than the sharpest black edges show, and where that costs the edges measured less than
a tenth of their MTF50, nothing is out of focus, whatever the printer. Dots that hold detail beyond
what such a blur would leave show it too. A place is blamed for being softer than others only where
a smooth surface over all elements says so against their own scatter. All else cannot be told.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Severity, Symptom
from dotloupe.fitness.focus_surface import FocusSurface, focus_surface
from dotloupe.fitness.mark_blur import MarkEdges
from dotloupe.fitness.sheet_position import SheetPosition
from dotloupe.fitness.tint_spectra import GrainSpectra, GrainTile
from dotloupe.measure import falls_below

LOW_BAND = (4.0, 7.0)
GONE = 0.02
"""Share of the grain's power at low frequency below which it counts as gone."""
HIDDEN = 1.5
"""Camera noise above this many times that hides where the grain ends."""
SHARPEST = 3
FEWEST_MARKS = 3
"""Whose edges can be read, for them to be compared or judged."""
USUAL_EDGE_UM = 40.0
"""Blur of black edges of a print, where the marks' own cannot be had."""
LEAST_EDGE_UM = 20.0
"""Blur that the marks' edges count for at least: the printer's raster moves it by as much."""
LEAST_HEIGHT_MM = 0.3
"""Tilt or curl of less is not what makes a corner soft."""

COSTS = 10.0
"""Loss of MTF50 in % from which a blur matters: settings differ by less in detail."""
CHANCE = 0.001
"""Of the elements' scatter alone, below which a place is blamed for being softer."""

DEFOCUS = FaultLimits(
    Symptom.GRAIN_END,
    18.0,
    0.0,
    "cycles/mm",
    "a disc of confusion that takes a tenth off an MTF50 of 4 cycles/mm is 80 um wide and passes "
    "0.1 % of a dot's power at 15 cycles/mm; large dots and continuous tone end there too",
)
SOFT_MARKS = FaultLimits(
    Symptom.MARK_BLUR,
    70.0,
    70.0,
    "um",
    "a raster of 300 dots/inch whose pixels are interpolated blurs an edge by 35 um, ink that "
    "spreads by twice a drop's width hardly more: both together by some 50 um",
)
POSSIBLE_LOSS = FaultLimits(
    Symptom.POSSIBLE_LOSS,
    COSTS,
    np.inf,
    "% of MTF50 at most",
    "the camera blurs no more than the sharpest edges of the print; below a tenth settings are "
    "compared as they are",
)
SOFTENING = FaultLimits(
    Symptom.SOFTENING,
    COSTS,
    35.0,
    "% softer than the sharpest place",
    "settings differ by less than a tenth in detail; a third leaves the elements incomparable",
)


class Place(StrEnum):
    """Places of the patch."""

    UPPER_LEFT = "upper left corner"
    UPPER = "upper edge"
    UPPER_RIGHT = "upper right corner"
    LEFT = "left side"
    MIDDLE = "middle"
    RIGHT = "right side"
    LOWER_LEFT = "lower left corner"
    LOWER = "lower edge"
    LOWER_RIGHT = "lower right corner"


@dataclass(frozen=True)
class Softer(Evidence):
    """Where the capture is softest."""

    place: Place


@dataclass(frozen=True)
class Curled(Softer):
    """Height of the sheet's corners over its middle, towards the lens, in mm."""

    corners_mm: float


@dataclass(frozen=True)
class Tilted(Softer):
    """Which part of the sheet is nearer to the lens, and by how many mm."""

    nearer: Place
    height_mm: float


@dataclass(frozen=True)
class FocusMap:
    """How much softer the capture is at places of the patch than at its sharpest.

    Attributes
    ----------
    places_mm : ndarray of shape (n, 2)
        On the patch.
    softer : ndarray of shape (n,)
        Loss of an edge's MTF50 against the sharpest place, 0 to 1.
    names : tuple of str
        Regions that were looked at.
    """

    places_mm: FloatArray
    softer: FloatArray
    names: tuple[str, ...]


def focus_map(spectra: GrainSpectra, edges: MarkEdges) -> FocusMap:
    """Compare places of the patch: tints with tints, marks with marks.

    A place's extra blur is taken as the Gaussian that makes the difference; on top of the blur of
    the sharper marks it gives the loss.
    """
    tiles = clear_tiles(spectra)
    by_mark, least = _mark_extra_um2(edges)
    extra = np.maximum(np.concatenate([_tint_extra_um2(spectra, tiles), by_mark]), 0.0)
    tile_places = np.array([tile.centre_mm for tile in tiles]).reshape(-1, 2)
    known = np.isfinite(extra)
    names = (*(tile.name for tile in tiles), *edges.names)
    return FocusMap(
        places_mm=np.concatenate([tile_places, edges.centres_mm])[known],
        softer=1 - least / np.sqrt(least**2 + extra[known]),
        names=tuple(name for name, keep in zip(names, known, strict=True) if keep),
    )


def focus_findings(
    spectra: GrainSpectra,
    edges: MarkEdges,
    focus: FocusMap,
    position: SheetPosition,
    size_mm: tuple[float, float],
    edge_um2: float,
) -> tuple[Finding, ...]:
    """Findings on defocus, and on what makes it uneven.

    Parameters
    ----------
    spectra : GrainSpectra
    edges : MarkEdges
    focus : FocusMap
        Of both.
    position : SheetPosition
    size_mm : (float, float)
        Of the patch.
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    """
    surface = _surface(spectra, edges, size_mm, edge_um2)
    return (
        _defocus(spectra, edges, edge_um2),
        *_unevenness(focus, surface, edges, position, size_mm, edge_um2),
    )


def most_lost(blur_um2: float, edge_um2: float) -> float:
    """Loss of MTF50 in %, if all of this blur variance is the camera's; 100 if it is unknown."""
    if not np.isfinite(blur_um2):
        return 100.0
    left = max(1 - blur_um2 / edge_um2, 0.0)
    return float(100 * (1 - np.sqrt(left)))


def _surface(
    spectra: GrainSpectra, edges: MarkEdges, size_mm: tuple[float, float], edge_um2: float
) -> FocusSurface | None:
    """Surface over the marks' sharpest lines in both directions, and over the tints' grain."""
    tiles = clear_tiles(spectra)
    places = np.concatenate(
        [
            edges.centres_mm,
            edges.centres_mm,
            np.array([tile.centre_mm for tile in tiles]).reshape(-1, 2),
        ]
    )
    blur = np.concatenate([*edges.sharpest_um2.T, _tint_extra_um2(spectra, tiles)])
    kinds = np.repeat([0, 1, 2], [len(edges.names), len(edges.names), len(tiles)])
    known = np.isfinite(blur)
    if not known.any():
        return None
    return focus_surface(places[known], blur[known], kinds[known], size_mm, edge_um2)


def _mark_extra_um2(edges: MarkEdges) -> tuple[FloatArray, float]:
    """Extra blur variance of each mark against the sharper two, and the blur of those.

    Defocus blurs both directions alike, a print often one; so the lesser of both is taken.
    """
    variance = edges.variance_um2
    if np.count_nonzero(np.all(np.isfinite(variance), axis=1)) < FEWEST_MARKS:
        return np.full(len(variance), np.nan), USUAL_EDGE_UM
    sharper = np.nanmean(np.sort(variance, axis=0)[:2], axis=0)
    least = float(np.sqrt(max(float(np.mean(sharper)), LEAST_EDGE_UM**2)))
    return np.min(variance - sharper, axis=1), least


def band_of(spectra: GrainSpectra, band: tuple[float, float]) -> slice:
    """Rings of a spectrum within a band of frequencies."""
    first, last = np.searchsorted(spectra.frequency, band)
    return slice(int(first), int(last))


def clear_tiles(spectra: GrainSpectra) -> list[GrainTile]:
    """Tints whose grain stands clear of the camera's noise."""
    low, above = band_of(spectra, LOW_BAND), spectra.frequency > LOW_BAND[1]
    if not above.any():
        return []
    noise = float(spectra.noise[above].mean())
    limit = HIDDEN * GONE
    return [
        tile
        for tile in spectra.tiles
        if noise / tile.level < limit * spectra.printed(tile)[:, low].mean()
    ]


def _over_lowband_of(spectra: GrainSpectra, tile: GrainTile) -> FloatArray:
    """Grain power of a tint by direction, over that of its low band."""
    printed = spectra.printed(tile)
    return np.asarray(printed / printed[:, band_of(spectra, LOW_BAND)].mean())


def _tint_ends(spectra: GrainSpectra, tiles: list[GrainTile]) -> FloatArray:
    """Frequency at which each tint's grain ends, the mean over directions."""
    return np.array(
        [_end(spectra.frequency, _over_lowband_of(spectra, tile).mean(axis=0)) for tile in tiles]
    )


def _tint_extra_um2(spectra: GrainSpectra, tiles: list[GrainTile]) -> FloatArray:
    """Extra blur variance of each tint against the sharpest three.

    With both spectra falling as Gaussians from the low band to their ends, a Gaussian of variance
    s^2 that moves the end from F to f takes exp(-4 pi^2 s^2 (f^2 - low^2)) there.
    """
    if len(tiles) < SHARPEST:
        return np.full(len(tiles), np.nan)
    ends, low = _tint_ends(spectra, tiles), float(np.mean(LOW_BAND))
    sharp = float(np.median(np.sort(ends)[-SHARPEST:]))
    if sharp <= low + 1:
        return np.zeros(len(tiles))
    span = np.maximum(ends, low + 1) ** 2 - low**2
    fall = -np.log(GONE) * np.maximum(1 - span / (sharp**2 - low**2), 0.0)
    return np.asarray(fall / (4 * np.pi**2 * span) * 1e6)


def _defocus(spectra: GrainSpectra, edges: MarkEdges, edge_um2: float) -> Finding:
    """Judge the sharper two marks, and of both directions the sharper, as motion blurs one."""
    by_mark = edges.sharpest_um2.min(axis=1)
    by_mark = np.sort(by_mark[np.isfinite(by_mark)])
    sharp_um2 = float(by_mark[:2].mean()) if len(by_mark) >= FEWEST_MARKS else np.nan
    if sharp_um2 > SOFT_MARKS.not_fit**2:
        return Finding(Fault.DEFOCUS, float(np.sqrt(sharp_um2)), SOFT_MARKS)
    lost = most_lost(sharp_um2, edge_um2)
    possible = Finding(Fault.DEFOCUS, lost, POSSIBLE_LOSS, blamed=False)
    tiles = clear_tiles(spectra)
    if possible.severity is Severity.FINE or not tiles:
        return possible
    # Of many places the very sharpest are so by chance too; the sharper half is not.
    sharpest = np.argsort(_tint_ends(spectra, tiles))[len(tiles) // 2 :]
    printed = np.mean([_over_lowband_of(spectra, tiles[i]) for i in sharpest], axis=0)
    reach = max(_end(spectra.frequency, direction) for direction in printed)
    return Finding(Fault.DEFOCUS, reach, DEFOCUS, blamed=False)


def _end(frequency: FloatArray, power: FloatArray) -> float:
    """Frequency at which a spectrum first falls under its end; the highest where it never does."""
    logarithm = np.log(np.maximum(power, GONE / 100))
    end = float(falls_below(frequency, logarithm, np.log(GONE)))
    return float(frequency[-1]) if np.isnan(end) else end


def _unevenness(
    focus: FocusMap,
    surface: FocusSurface | None,
    edges: MarkEdges,
    position: SheetPosition,
    size_mm: tuple[float, float],
    edge_um2: float,
) -> tuple[Finding, ...]:
    if surface is None or not focus.names:
        return ()
    lost = 100 * float(surface.loss.max())
    blamed = surface.chance < CHANCE and lost > COSTS
    # All corners softer than the middle alike is a curl that only their own blur excludes.
    bound = most_lost(float(edges.sharpest_um2.min(axis=1).max()), edge_um2)
    value = lost if blamed else bound
    worst = int(np.argmax(focus.softer))
    place = place_name(focus.places_mm[worst], size_mm)
    if not blamed:
        return (Finding(Fault.UNEVEN_FOCUS, value, POSSIBLE_LOSS, blamed=False),)
    tilted, curled = position.tilt_mm(size_mm), abs(position.curl_mm)
    if max(tilted, curled) < LEAST_HEIGHT_MM:
        return (Finding(Fault.UNEVEN_FOCUS, value, SOFTENING, Softer(place)),)
    if curled > tilted:
        return (Finding(Fault.CURL, value, SOFTENING, Curled(place, position.curl_mm)),)
    nearer = place_name(np.array(size_mm) / 2 + _step(position.slope) * size_mm, size_mm)
    return (Finding(Fault.TILT, value, SOFTENING, Tilted(place, nearer, tilted)),)


def _step(slope: FloatArray) -> FloatArray:
    """Direction of a slope as steps of -0.5, 0 or 0.5 along x and y."""
    strong = np.abs(slope) > 0.4 * np.abs(slope).max()
    return np.where(strong, np.sign(slope) / 2, 0.0)


def place_name(place_mm: FloatArray, size_mm: tuple[float, float]) -> Place:
    """Name a place of the patch.

    Parameters
    ----------
    place_mm : ndarray of shape (2,)
        (x, y) on the patch.
    size_mm : (float, float)
        Width and height of the patch.
    """
    u, v = np.asarray(place_mm) / np.array(size_mm)
    across = "left" if u < 0.3 else "right" if u > 0.7 else ""
    down = "upper" if v < 0.3 else "lower" if v > 0.7 else ""
    if across and down:
        return Place(f"{down} {across} corner")
    if down:
        return Place(f"{down} edge")
    return Place(f"{across} side" if across else "middle")
