"""Focus and motion: how sharp the camera was, where, and which way to mend it.

The print's own edges are too soft and too ragged to show a little blur of the camera, but its dots
are not: in focus their noise reaches to 18 cycles/mm and beyond, and a defocus that costs an edge
a tenth of its MTF50 cuts it off at two thirds of that. So tints and stripes say how sharp the
camera was and in which direction it moved, and the black edges of the marks whether one corner is
softer than another.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.mark_blur import MarkEdges
from dotloupe.fitness.sheet_position import SheetPosition
from dotloupe.fitness.tint_spectra import GrainSpectra, GrainTile
from dotloupe.measure import falls_below

LOW_BAND = (4.0, 7.0)
MOTION_BAND = (10.0, 16.0)
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

DEFOCUS = FaultLimits(
    Symptom.GRAIN_END,
    14.0,
    9.0,
    "cycles/mm",
    "dots of up to 30 um in focus reach 18 and more; at 14 the camera's blur is a disc of some "
    "60 um, which costs an edge's MTF50 a twentieth, at 9 one of 100 um",
)
SOFT_MARKS = FaultLimits(
    Symptom.MARK_BLUR,
    55.0,
    70.0,
    "um",
    "black edges of simulated prints in focus are blurred by 33 to 41 um; 55 um leave an edge an "
    "MTF50 of 3.4 cycles/mm and 70 um one of 2.7 (a Gaussian's), less than ink does on photo paper",
)
SOFTENING = FaultLimits(
    Symptom.SOFTENING,
    10.0,
    35.0,
    "% softer than the sharpest place",
    "settings differ by less than a tenth in detail; a third leaves the elements incomparable",
)
MOTION = FaultLimits(
    Symptom.TRAVEL,
    45.0,
    120.0,
    "um",
    "45 um take a twentieth off the MTF50 across them and are beyond what printers make of their "
    "grain's own unevenness between directions; 120 um take a third",
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


class Direction(StrEnum):
    """Directions in the frame, by turns of 45 degrees from its rows."""

    ACROSS = "across the frame"
    DOWN_RIGHT = "down to the right"
    UPRIGHT = "up and down the frame"
    UP_RIGHT = "up to the right"


@dataclass(frozen=True)
class Moved(Evidence):
    """In which direction the picture is blurred."""

    direction: Direction


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
    tiles = _clear_tiles(spectra)
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
) -> tuple[Finding, ...]:
    """Findings on defocus, on what makes it uneven, and on motion."""
    return (
        *_defocus(spectra),
        *_soft_marks(edges),
        *_unevenness(focus, position, size_mm),
        *_motion(spectra),
    )


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


def _band(spectra: GrainSpectra, band: tuple[float, float]) -> slice:
    first, last = np.searchsorted(spectra.frequency, band)
    return slice(int(first), int(last))


def _clear_tiles(spectra: GrainSpectra) -> list[GrainTile]:
    """Tints whose grain stands clear of the camera's noise."""
    low, above = _band(spectra, LOW_BAND), spectra.frequency > LOW_BAND[1]
    if not above.any():
        return []
    noise = float(spectra.noise[above].mean())
    limit = HIDDEN * GONE
    return [
        tile
        for tile in spectra.tiles
        if noise / tile.level < limit * spectra.printed(tile)[:, low].mean()
    ]


def _over_low_band(spectra: GrainSpectra, tile: GrainTile) -> FloatArray:
    """Grain power of a tint by direction, over that of its low band."""
    printed = spectra.printed(tile)
    return np.asarray(printed / printed[:, _band(spectra, LOW_BAND)].mean())


def _tint_ends(spectra: GrainSpectra, tiles: list[GrainTile]) -> FloatArray:
    """Frequency at which each tint's grain ends, the mean over directions."""
    return np.array(
        [_end(spectra.frequency, _over_low_band(spectra, tile).mean(axis=0)) for tile in tiles]
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


def _defocus(spectra: GrainSpectra) -> tuple[Finding, ...]:
    tiles = _clear_tiles(spectra)
    if not tiles:
        return ()
    # Of many places the very sharpest are so by chance too; the sharper half is not.
    sharpest = np.argsort(_tint_ends(spectra, tiles))[len(tiles) // 2 :]
    printed = np.mean([_over_low_band(spectra, tiles[i]) for i in sharpest], axis=0)
    reach = max(_end(spectra.frequency, direction) for direction in printed)
    if reach == spectra.frequency[-1] and reach < DEFOCUS.warning:
        return ()
    return (Finding(Fault.DEFOCUS, reach, DEFOCUS),)


def _soft_marks(edges: MarkEdges) -> tuple[Finding, ...]:
    """Judge the sharper two marks: a defocus that leaves no grain at all still leaves their edges.

    The lesser of both directions is taken, as motion blurs one alone.
    """
    by_mark = edges.variance_um2.min(axis=1)
    by_mark = np.sort(by_mark[np.isfinite(by_mark)])
    if len(by_mark) < FEWEST_MARKS:
        return ()
    blur = float(np.sqrt(max(by_mark[:2].mean(), 0.0)))
    return (Finding(Fault.DEFOCUS, blur, SOFT_MARKS),)


def _end(frequency: FloatArray, power: FloatArray) -> float:
    """Frequency at which a spectrum first falls under its end; the highest where it never does."""
    logarithm = np.log(np.maximum(power, GONE / 100))
    end = float(falls_below(frequency, logarithm, np.log(GONE)))
    return float(frequency[-1]) if np.isnan(end) else end


def _unevenness(
    focus: FocusMap, position: SheetPosition, size_mm: tuple[float, float]
) -> tuple[Finding, ...]:
    if not focus.names:
        return ()
    worst = int(np.argmax(focus.softer))
    percent = 100 * float(focus.softer[worst])
    place = place_name(focus.places_mm[worst], size_mm)
    tilted, curled = position.tilt_mm(size_mm), abs(position.curl_mm)
    if max(tilted, curled) < LEAST_HEIGHT_MM:
        return (Finding(Fault.UNEVEN_FOCUS, percent, SOFTENING, Softer(place)),)
    if curled > tilted:
        return (Finding(Fault.CURL, percent, SOFTENING, Curled(place, position.curl_mm)),)
    nearer = place_name(np.array(size_mm) / 2 + _step(position.slope) * size_mm, size_mm)
    return (Finding(Fault.TILT, percent, SOFTENING, Tilted(place, nearer, tilted)),)


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


def _motion(spectra: GrainSpectra) -> tuple[Finding, ...]:
    band = _band(spectra, MOTION_BAND)
    tiles = _clear_tiles(spectra)
    if not tiles or band.stop - band.start < 3:
        return ()
    floor = max(float(spectra.noise[band].mean()) / 4, 1e-12)
    by_tile = np.array([spectra.printed(tile)[:, band] for tile in tiles])
    logs = np.log(np.maximum(by_tile, floor)).mean(axis=0)
    unlike = np.median(np.roll(logs, 2, axis=0) - logs, axis=1)
    worst = int(np.argmax(unlike))
    travel = 1000 * np.sqrt(3 * max(unlike[worst], 0.0)) / (np.pi * float(np.mean(MOTION_BAND)))
    evidence = Moved(tuple(Direction)[worst])
    return (Finding(Fault.MOTION_BLUR, float(travel), MOTION, evidence),)
