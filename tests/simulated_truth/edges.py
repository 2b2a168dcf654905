"""What an edge is truly like on paper: averaged by true distance, without any measurement.

Nothing here comes from `dotloupe.measure`, so that a measurement can be held against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError
from dotloupe.patch import srgb_encode
from dotloupe.patch.layout import SLANT_DEG
from dotloupe.simulate.printing import print_picture
from dotloupe.simulate.sheet import LUMINANCE

from .straight_line import distance_from, half_plane_share

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from dotloupe import Patch
    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.printing import Print
    from dotloupe.simulate.sheet import Window

    from .straight_line import Line

_FREQUENCY = np.arange(0.0, 20.01, 0.25)
_BIN_MM = 0.005
_FARTHEST_MM = 0.9
_SETTLED_MM = 0.15
_BAR_MM = 1.4
_BAR_TILT_DEG = 5.0
_STRETCH_MM = 2.5
_LINED_UP_AT = 1.0


@dataclass(frozen=True)
class EdgeTruth:
    """An edge on paper, without camera.

    Attributes
    ----------
    distance_um, spread : (n,) arrays
        Mean reflectance by true distance from the edge as it was drawn.
    frequency, mtf, mtf_error : (m,) arrays
        Cycles/mm normal to the edge, modulation there and its standard error. The error is NaN
        for one stretch of edge, which is exact for itself.
    mtf50, mtf50_error : float
        Frequency of half modulation in cycles/mm (NaN if never reached), and its standard error.
    offset_um : float
        How far the printed edge lies from the drawn one, towards positive distance.
    """

    distance_um: FloatArray
    spread: FloatArray
    frequency: FloatArray
    mtf: FloatArray
    mtf_error: FloatArray
    mtf50: float
    mtf50_error: float
    offset_um: float


def edge_truth(
    printed: Print,
    window_mm: Window,
    line: Line,
    *,
    weights: tuple[float, float, float] = LUMINANCE,
) -> EdgeTruth:
    """Truth of one edge of one sheet, as it lies there, grain and all.

    Parameters
    ----------
    printed : Print
        The print.
    window_mm : tuple of float
        Left, top, right, bottom of an area that holds this edge alone.
    line : two points in mm
        The edge as it was drawn.
    weights : tuple of float
        Weights of red, green and blue in the picture that is measured.

    Raises
    ------
    InputError
        Where the window holds too little on either side of the edge for its tones to settle.
    """
    values = printed.window(window_mm, weights=weights)
    distance_mm = distance_from(line, *printed.pixel_places_mm(window_mm))
    spread, seen = _mean_by_distance(values, distance_mm, np.zeros(values.shape, dtype=int), 1)
    reach_mm = _reach_mm(printed.sent_ppi, printed.printer.raster_ppi)
    if not seen[0, np.abs(_distances_mm()) < reach_mm + 0.1].all():
        raise InputError(
            f"edge truth: window {window_mm} holds less than {reach_mm + 0.1:.2f} mm on a side of "
            "the edge: widen it"
        )
    transfer = _transfers(spread, seen, reach_mm)[0]
    mtf = np.abs(transfer)
    return EdgeTruth(
        distance_um=1000.0 * _distances_mm()[seen[0]],
        spread=spread[0, seen[0]],
        frequency=_FREQUENCY,
        mtf=mtf,
        mtf_error=np.full_like(mtf, np.nan),
        mtf50=half_modulation(_FREQUENCY, mtf),
        mtf50_error=float("nan"),
        offset_um=1000.0 * float(_offset_mm(transfer)),
    )


def true_edge_response(
    direction: str = "x",
    *,
    tones: tuple[float, float] = (0.2, 0.8),
    sent_ppi: float = 720.0,
    prints: int = 4,
    seed: int = 1,
    weights: tuple[float, float, float] = LUMINANCE,
    **setting,
) -> EdgeTruth:
    """Truth of an edge of given tones for a printer, over many places on its halftone and head.

    Each print is 15 mm square and holds some 150 mm of edge as slanted bars, averaged by true
    distance in stretches of 2.5 mm. Each stretch is lined up on its own edge, as whoever measures
    a short edge does, and the transfers are averaged; the standard errors are those of the mean
    of the stretches.

    Parameters
    ----------
    direction : {"x", "y"}
        Direction of the modulation: "x" for an edge that runs along y.
    tones : tuple of float
        Sent reflectances on both sides, the darker first.
    prints : int
        How many prints are averaged; the standard error falls as its square root.
    **setting
        `printer`, `mode`, `alignment` and `paper`, as `print_picture` takes them.

    Raises
    ------
    InputError
        For another direction.
    """
    if direction not in {"x", "y"}:
        raise InputError(f"edge truth: direction {direction!r}: give 'x' or 'y'")
    spreads: list[FloatArray] = []
    transfers: list[FloatArray] = []
    for number in range(prints):
        picture = bars_picture(direction, tones, sent_ppi)
        sheet = print_picture(picture, sent_ppi, seed=seed + number, margin_mm=0.0, **setting)
        reach_mm = _reach_mm(sent_ppi, sheet.printer.raster_ppi)
        inside = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
        x_mm, y_mm = sheet.pixel_places_mm(inside)
        distance_mm, edge, along_mm = _nearest_edge(direction, x_mm, y_mm)
        stretch = np.floor(along_mm / _STRETCH_MM).astype(int)
        stretch -= stretch.min()
        edge -= edge.min()
        groups = (int(edge.max()) + 1) * (int(stretch.max()) + 1)
        spread, seen = _mean_by_distance(
            sheet.window(inside, weights=weights),
            distance_mm,
            edge * (int(stretch.max()) + 1) + stretch,
            groups,
        )
        whole = seen[:, np.abs(_distances_mm()) < 0.5 * _BAR_MM - _BIN_MM].all(axis=1)
        spreads.append(spread[whole])
        transfers.append(_transfers(spread[whole], seen[whole], reach_mm))
    return _summary(np.concatenate(spreads), np.concatenate(transfers))


def bars_picture(direction: str, tones: tuple[float, float], sent_ppi: float) -> NDArray[np.uint8]:
    """Picture 15 mm square of slanted bars 1.4 mm wide, area-sampled, sRGB-coded.

    Parameters
    ----------
    direction : {"x", "y"}
        Direction of the modulation.
    tones : tuple of float
        Linear reflectance of bars and spaces.
    sent_ppi : float
    """
    size = round(15.0 * sent_ppi / 25.4)
    pixel_mm = 25.4 / sent_ppi
    place_mm = (np.arange(size) + 0.5) * pixel_mm
    distance_mm, _, _ = _nearest_edge(direction, place_mm[None, :], place_mm[:, None])
    share = half_plane_share(distance_mm / pixel_mm, _bar_line(direction))
    coded = srgb_encode(tones[1] + (tones[0] - tones[1]) * share)
    picture = np.round(255.0 * coded).astype(np.uint8)
    return np.repeat(picture[..., None], 3, axis=2)


def half_modulation(frequency: FloatArray, mtf: FloatArray) -> float:
    """First frequency at which the modulation falls to a half, between grid points; else NaN."""
    below = np.flatnonzero(mtf < 0.5)
    if not below.size:
        return float("nan")
    after = int(below[0])
    part = (mtf[after - 1] - 0.5) / (mtf[after - 1] - mtf[after])
    return float(frequency[after - 1] + part * (frequency[after] - frequency[after - 1]))


def _bar_line(direction: str) -> Line:
    """The bars' edge through the origin: along y for modulation along x."""
    angle = np.deg2rad(_BAR_TILT_DEG + (90.0 if direction == "x" else 0.0))
    return ((0.0, 0.0), (float(np.cos(angle)), float(np.sin(angle))))


def _nearest_edge(
    direction: str, x_mm: FloatArray, y_mm: FloatArray
) -> tuple[FloatArray, NDArray[np.int64], FloatArray]:
    """Distance from the nearest edge of the bars, positive in the dark; which edge; place along."""
    line = _bar_line(direction)
    across = distance_from(line, x_mm, y_mm)
    (_, _), (c, s) = line
    edge = np.rint(across / _BAR_MM).astype(int)
    distance = (across - edge * _BAR_MM) * np.where(edge % 2 == 0, 1.0, -1.0)
    return distance, edge, x_mm * c + y_mm * s


def _reach_mm(sent_ppi: float, raster_ppi: float) -> float:
    """Distance from an edge at which its tones have settled.

    The driver's kernel does nothing visible beyond three pixels of the coarser raster; the drops'
    errors and the paper's spread of light need the rest.
    """
    return _SETTLED_MM + 3.0 * 25.4 / min(sent_ppi, raster_ppi)


def _distances_mm() -> FloatArray:
    """Middles of the bins of distance."""
    half = round(_FARTHEST_MM / _BIN_MM)
    return (np.arange(-half, half) + 0.5) * _BIN_MM


def _mean_by_distance(
    values: FloatArray, distance_mm: FloatArray, group: NDArray[np.int64], groups: int
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Mean of each group (rows) in each bin of distance, and which bins it fills."""
    bins = _distances_mm().size
    place = np.floor(distance_mm / _BIN_MM).astype(int) + bins // 2
    held = (place >= 0) & (place < bins)
    place = (group * bins + place)[held]
    total = np.bincount(place, weights=values[held], minlength=groups * bins)
    count = np.bincount(place, minlength=groups * bins)
    mean = total / np.maximum(count, 1)
    filled = count > 0.3 * np.median(count[count > 0])
    return mean.reshape(groups, bins), filled.reshape(groups, bins)


def _transfers(spread: FloatArray, seen: NDArray[np.bool_], reach_mm: float) -> FloatArray:
    """Complex transfer about the drawn edge, from the mean by distance, for each group.

    Beyond `reach_mm` the edge has settled: the tones there are the means of all that is seen
    beyond, of all groups, which keeps the grain far from the edge out of the transform without a
    window. Bins and differences are boxes of 5 um, whose transfer is divided out.
    """
    distance_mm = _distances_mm()
    before = spread[seen & (distance_mm < -reach_mm)].mean()
    after = spread[seen & (distance_mm > reach_mm)].mean()
    settled = np.where(distance_mm < 0.0, before, after)
    steps = np.diff(np.where(np.abs(distance_mm) < reach_mm, spread, settled), axis=1)
    place_mm = distance_mm[:-1] + 0.5 * _BIN_MM
    turned = np.exp(-2j * np.pi * place_mm[:, None] * _FREQUENCY)
    return (steps @ turned) / (after - before) / np.sinc(_FREQUENCY * _BIN_MM) ** 2


def _offset_mm(transfer: FloatArray) -> FloatArray:
    """Place of the edge by the phase at 1 cycle/mm, where the whole edge takes part."""
    lined_up = transfer[..., int(np.flatnonzero(_FREQUENCY == _LINED_UP_AT)[0])]
    return -np.angle(lined_up) / (2.0 * np.pi * _LINED_UP_AT)


def _summary(spreads: FloatArray, transfers: FloatArray) -> EdgeTruth:
    """Mean over stretches with its standard error; MTF50's by leaving one out in turn."""
    offset_mm = _offset_mm(transfers)
    aligned = np.real(transfers * np.exp(2j * np.pi * _FREQUENCY * offset_mm[:, None]))
    count = len(aligned)
    mtf = aligned.mean(axis=0)
    without = (aligned.sum(axis=0) - aligned) / (count - 1)
    halves = np.array([half_modulation(_FREQUENCY, one) for one in without])
    spread_of_halves = np.sqrt((count - 1) * np.mean((halves - halves.mean()) ** 2))
    return EdgeTruth(
        distance_um=1000.0 * _distances_mm(),
        spread=spreads.mean(axis=0),
        frequency=_FREQUENCY,
        mtf=mtf,
        mtf_error=aligned.std(axis=0, ddof=1) / np.sqrt(count),
        mtf50=half_modulation(_FREQUENCY, mtf),
        mtf50_error=float(spread_of_halves),
        offset_um=1000.0 * float(offset_mm.mean()),
    )


def mid_edges(patch: Patch, axis: str) -> Iterator[tuple[Window, Line]]:
    """Window and drawn line, in mm, of each mid-tone edge of one direction."""
    slope = np.tan(np.deg2rad(SLANT_DEG))
    for region in patch.regions.values():
        if (region.kind, region.tone, region.direction) != ("edge", "mid", axis):
            continue
        (left, top), _, (right, bottom), _ = region.corners_mm
        x, y = region.centre_mm
        if axis == "x":
            line = ((x - slope * (y - top), top), (x + slope * (bottom - y), bottom))
        else:
            line = ((left, y - slope * (x - left)), (right, y + slope * (right - x)))
        yield (left, top, right, bottom), line


def geometric_mean(values: Sequence[float]) -> float:
    """Mean as edges are combined: of logarithms."""
    return float(np.exp(np.mean(np.log(values))))


def true_detail_of(printed: Print, patch: Patch, axis: str) -> float:
    """Geometric mean of the MTF50 of the edges of one direction of this very print."""
    edges = mid_edges(patch, axis)
    return geometric_mean([edge_truth(printed, window, line).mtf50 for window, line in edges])
