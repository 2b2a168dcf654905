"""Focus: how much the camera may have blurred, where it is softer, and which way to mend it.

A camera blurs every edge and dot of the print; a printer only makes some softer than others. So
the camera blurs no more than the steepest light shows, and where that costs the edges measured
less than a tenth of their MTF50, nothing is out of focus, whatever the printer. A corner is blamed
for being softer than the rest only where a smooth surface over all elements says so against their
own scatter. All else cannot be told.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dotloupe.arrays import BoolArray, FloatArray
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.focus_surface import FocusSurface, focus_surface, loss_of
from dotloupe.fitness.sheet_position import SheetPosition
from dotloupe.fitness.steepest_edges import SteepestEdges

USUAL_EDGE_UM = 40.0
"""Blur of a print's edges, where its own cannot be had."""
LEAST_HEIGHT_MM = 0.3
"""Tilt or curl of less is not what makes a corner soft."""
NOTICED_LOSS_PERCENT = 10.0
"""Loss of MTF50 in % from which a blur matters: settings differ by less in detail."""
CHANCE = 0.001
"""Of the elements' scatter alone, below which a place is blamed for being softer by a tenth."""
FINEST_GRAIN_PER_MM = 5.0
"""Cycles/mm of the finest grain that counts: at 350 mm the eye passes 8 % of it (Dooley, Shaw)."""
BEYOND = 4.0
"""Times the edges' own blur, which halves MTF50: more counts as so much."""
BLACK = ("mark", "code", "bars x", "bars y")
"""Kinds drawn black on paper, whose steepest places are alike in a level photograph."""
ALONG_X, ALONG_Y = 0, 2
"""Directions of a rise along the frame's rows and columns, as edges rise."""

SOFT_PRINT = FaultLimits(
    Symptom.STEEPEST_EDGE,
    52.0,
    52.0,
    "um",
    "a raster of 200 dots/inch with pixels interpolated in a straight line blurs an edge by 52 um "
    "(a triangle 254 um wide); photo printers have finer ones, and ink that spreads moves an edge "
    "more than it softens it",
)
SHARP_LENS = 1.0
"""Loss of MTF50 in % that diffraction at f/4 alone takes from sharp prints."""
POSSIBLE_LOSS = FaultLimits(
    Symptom.POSSIBLE_LOSS,
    NOTICED_LOSS_PERCENT + SHARP_LENS,
    np.inf,
    "% at most of MTF50 or of visible grain",
    "the camera blurs no more than the steepest light in the print shows; a fault that takes a "
    "tenth shows as that and what a sharp lens takes besides",
)
SOFTENING = FaultLimits(
    Symptom.SOFTENING,
    NOTICED_LOSS_PERCENT,
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
    """Height of the sheet's corners over its middle, towards the lens, in mm.

    All heights go by the distance from the lens.
    """

    corners_mm: float
    distance_mm: float


@dataclass(frozen=True)
class Tilted(Softer):
    """Which part of the sheet is nearer to the lens, and by how many mm."""

    nearer: Place
    height_mm: float
    distance_mm: float


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


def focus_map(edges: SteepestEdges, edge_um2: float) -> FocusMap:
    """Compare places of the patch, like elements with like.

    Parameters
    ----------
    edges : SteepestEdges
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    """
    blur = _blur_um2(edges, edge_um2)
    softer, known = np.zeros(len(blur)), np.zeros(len(blur), bool)
    for like in _alike(edges):
        if np.count_nonzero(like) > 1:
            softer[like] = loss_of(blur[like] - _sharpest(blur[like]), edge_um2)
            known |= like
    names = tuple(name for name, keep in zip(edges.names, known, strict=True) if keep)
    return FocusMap(edges.centres_mm[known], softer[known], names)


def focus_findings(
    edges: SteepestEdges, position: SheetPosition, size_mm: tuple[float, float], edge_um2: float
) -> tuple[Finding, ...]:
    """Findings on defocus, and on what makes it uneven.

    Parameters
    ----------
    edges : SteepestEdges
    position : SheetPosition
    size_mm : (float, float)
        Of the patch.
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    """
    return (_defocus(edges, edge_um2), *_unevenness(edges, position, size_mm, edge_um2))


def camera_blur_at_most_um2(edges: SteepestEdges) -> float:
    """Blur variance that is the camera's at most: the steepest light shows no more in either axis.

    Infinite where too few elements were looked at.
    """
    across = np.sort(edges.variance_um2, axis=0)[:2, [ALONG_X, ALONG_Y]]
    return float(across.max()) if len(across) > 1 else np.inf


def most_lost(blur_um2: float, edge_um2: float) -> float:
    """Loss of MTF50 in %, if all of this blur variance is the camera's."""
    return float(100 * (1 - np.sqrt(max(1 - blur_um2 / edge_um2, 0.0))))


def most_grain_lost(blur_um2: float) -> float:
    """Loss in % of the finest grain that is visible at the usual distance, by this blur variance.

    A blur of variance s^2 passes exp(-2 pi^2 s^2 f^2) of an amplitude at a frequency f.
    """
    return float(100 * (1 - np.exp(-2 * (np.pi * FINEST_GRAIN_PER_MM) ** 2 * blur_um2 * 1e-6)))


def kinds_of(edges: SteepestEdges, *kinds: str) -> BoolArray:
    """Whether each element is of one of these kinds."""
    return np.isin(np.array(edges.kinds, dtype=str), kinds)


def _alike(edges: SteepestEdges) -> list[BoolArray]:
    """Elements that a level photograph shows alike: all that are black, and edges of one tone."""
    others = sorted({kind for kind in edges.kinds if kind not in BLACK})
    return [kinds_of(edges, *BLACK), *(kinds_of(edges, kind) for kind in others)]


def _blur_um2(edges: SteepestEdges, edge_um2: float) -> FloatArray:
    """Blur of each element in its sharpest direction: defocus blurs all of them."""
    return np.minimum(edges.variance_um2.min(axis=1, initial=np.inf), BEYOND * edge_um2)


def _sharpest(blur_um2: FloatArray) -> float:
    """Second least: one alone may be so by chance."""
    return float(np.sort(blur_um2)[:2].max(initial=0.0))


def _defocus(edges: SteepestEdges, edge_um2: float) -> Finding:
    across = np.sort(edges.variance_um2, axis=0)[:2, [ALONG_X, ALONG_Y]]
    sharp_um2 = camera_blur_at_most_um2(edges)
    # Motion blurs one direction only; that no print is as soft as this is said of both.
    if len(across) > 1 and across.max(axis=0).min() > SOFT_PRINT.not_fit**2:
        return Finding(Fault.DEFOCUS, float(np.sqrt(min(sharp_um2, 1e6))), SOFT_PRINT)
    lost = max(most_lost(sharp_um2, edge_um2), most_grain_lost(sharp_um2))
    return Finding(Fault.DEFOCUS, lost, POSSIBLE_LOSS, blamed=False)


def _unevenness(
    edges: SteepestEdges, position: SheetPosition, size_mm: tuple[float, float], edge_um2: float
) -> tuple[Finding, ...]:
    marks = kinds_of(edges, "mark")
    if not marks.any():
        return ()
    blur = _blur_um2(edges, edge_um2)
    extra_um2 = blur[marks] - _sharpest(blur[kinds_of(edges, *BLACK)])
    worst = int(np.argmax(extra_um2))
    value = 100 * float(loss_of(extra_um2[worst], edge_um2))
    most_um2 = float(edges.variance_um2[marks][worst, [ALONG_X, ALONG_Y]].max())
    most = most_lost(most_um2, edge_um2)
    surface = _surface(edges, size_mm, edge_um2)
    if (
        value <= NOTICED_LOSS_PERCENT
        or most <= NOTICED_LOSS_PERCENT
        or surface is None
        or surface.chance > CHANCE
    ):
        of_grain = most_grain_lost(max(min(float(extra_um2[worst]), most_um2), 0.0))
        possible = max(min(value, most), of_grain)
        return (Finding(Fault.UNEVEN_FOCUS, possible, POSSIBLE_LOSS, blamed=False),)
    place = place_name(edges.centres_mm[marks][worst], size_mm)
    tilted, curled = position.tilt_mm(size_mm), abs(position.curl_mm)
    if max(tilted, curled) < LEAST_HEIGHT_MM:
        return (Finding(Fault.UNEVEN_FOCUS, value, SOFTENING, Softer(place)),)
    if curled > tilted:
        return (
            Finding(
                Fault.CURL, value, SOFTENING, Curled(place, position.curl_mm, position.distance_mm)
            ),
        )
    nearer = place_name(np.array(size_mm) / 2 + _step(position.slope) * size_mm, size_mm)
    return (
        Finding(Fault.TILT, value, SOFTENING, Tilted(place, nearer, tilted, position.distance_mm)),
    )


def _surface(
    edges: SteepestEdges, size_mm: tuple[float, float], edge_um2: float
) -> FocusSurface | None:
    """Surface over the marks, each direction by itself, and over slanted edges of each tone."""
    most = BEYOND * edge_um2
    marks = kinds_of(edges, "mark")
    sets = [(marks, edges.variance_um2[:, axis]) for axis in (ALONG_X, ALONG_Y)]
    blur = _blur_um2(edges, edge_um2)
    sets += [(kinds_of(edges, kind), blur) for kind in ("edge mid", "edge dark")]
    places = np.concatenate([edges.centres_mm[those] for those, _ in sets])
    values = np.concatenate([np.minimum(seen[those], most) for those, seen in sets])
    kinds = np.repeat(np.arange(len(sets)), [np.count_nonzero(those) for those, _ in sets])
    return focus_surface(places, values, kinds, size_mm, edge_um2)


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
