"""From how far two prints differ to the eye in lightness and colour, picture against picture."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare.plain import plain
from dotloupe.errors import InputError
from dotloupe.measure.seeing import cycles_per_degree, scielab_transfer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.measure.seeing import OpponentChannel

XYZ_OF_LINEAR_SRGB = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
"""IEC 61966-2-1."""

PUBLISHED_OPPONENT = np.array(
    [[0.279, 0.720, -0.107], [-0.449, 0.290, -0.077], [0.086, -0.590, 0.501]]
)
"""Luminance, red-green, blue-yellow of XYZ (Zhang and Wandell 1997, from memory)."""

CHANNELS: tuple[OpponentChannel, ...] = ("luminance", "red-green", "blue-yellow")
JUST_SEEN = 1.0
"""CIELAB difference that is just seen side by side (common practice)."""

SHARE_OF_AREA = 95.0
"""Percentile of the area whose difference counts: what differs on a twentieth of it is found."""

DISTANCES_MM: FloatArray = np.geomspace(250.0, 10_000.0, 20)


@dataclass(frozen=True)
class PictureSeen:
    """From how far the prints of two settings differ to the eye.

    Attributes
    ----------
    distance_mm : float
        Largest distance at which a twentieth of the area differs by a just seen difference,
        median over the pairs of prints; 0 where not even from 250 mm.
    interval : tuple of float
        Least and greatest over the pairs.
    repeats_mm : float or None
        The same between prints of one setting: a distance no larger says nothing of the settings.
    distances_mm, difference, repeats : ndarray (m,), (m,) and (m,) or None
        The 95th percentile of the CIELAB difference against the viewing distance, median over the
        pairs, between settings and between repeats.
    """

    distance_mm: float
    interval: Interval
    repeats_mm: float | None
    distances_mm: FloatArray
    difference: FloatArray
    repeats: FloatArray | None

    def to_dict(self) -> dict[str, Any]:
        """Everything, ready for JSON."""
        result: dict[str, Any] = plain(self)
        return result


def picture_difference(
    first: FloatArray, second: FloatArray, pixels_per_mm: float, viewing_distance_mm: float
) -> FloatArray:
    """CIELAB difference of two prints, each filtered as the eye does from a distance.

    Parameters
    ----------
    first, second : ndarray, shape (rows, columns, 3)
        Linear RGB reflectance relative to the paper, on the same grid.
    pixels_per_mm : float
        Of the grid.
    viewing_distance_mm : float
        Distance of the eye.

    Returns
    -------
    ndarray, shape (rows, columns)

    Raises
    ------
    InputError
        The two are not of one shape.

    Notes
    -----
    Spatial CIELAB, Zhang and Wandell 1997 (from memory): opponent channels filtered by the eye's
    sensitivities, then CIE 1976 differences, with the paper as the white. The published colour
    channels respond to grey as well, and filtering them apart from luminance would tint a grey
    wave; here grey is taken out of them first.
    """
    if first.shape != second.shape or first.ndim != 3:
        raise InputError("two pictures of one shape and three channels are needed: cut them alike")
    views = [_seen_lab(_waves(p), pixels_per_mm, viewing_distance_mm) for p in (first, second)]
    return _difference(*views)


def pictures_seen(
    first: Sequence[FloatArray], second: Sequence[FloatArray], pixels_per_mm: float
) -> PictureSeen:
    """From how far the prints of two settings differ to the eye.

    Parameters
    ----------
    first, second : sequence of ndarray, shape (rows, columns, 3)
        One a print, linear RGB reflectance relative to the paper, the same mm on the same grid.
    pixels_per_mm : float
        Of the grid.
    """
    if not first or not second:
        raise InputError("a setting without a picture: give a print of each")
    shapes = {p.shape for p in (*first, *second)}
    if len(shapes) > 1 or len(shapes.pop()) != len(CHANNELS):
        raise InputError("pictures of one shape and three channels are needed: cut them alike")
    waves = [_waves(p) for p in (*first, *second)]
    settings = [0] * len(first) + [1] * len(second)
    pairs = list(combinations(range(len(waves)), 2))
    curves = np.array([_pair_differences(waves, pairs, pixels_per_mm, d) for d in DISTANCES_MM]).T
    across = np.array([settings[a] != settings[b] for a, b in pairs])
    distances = [_farthest(curve) for curve in curves[across]]
    within = curves[~across]
    return PictureSeen(
        distance_mm=float(np.median(distances)),
        interval=(min(distances), max(distances)),
        repeats_mm=float(np.median([_farthest(c) for c in within])) if len(within) else None,
        distances_mm=DISTANCES_MM,
        difference=np.median(curves[across], axis=0),
        repeats=np.median(within, axis=0) if len(within) else None,
    )


def _pair_differences(
    waves: Sequence[FloatArray],
    pairs: Sequence[tuple[int, int]],
    pixels_per_mm: float,
    distance_mm: float,
) -> list[float]:
    views = [_seen_lab(w, pixels_per_mm, distance_mm) for w in waves]
    return [float(np.percentile(_difference(views[a], views[b]), SHARE_OF_AREA)) for a, b in pairs]


def _difference(first: FloatArray, second: FloatArray) -> FloatArray:
    difference: FloatArray = np.linalg.norm(first - second, axis=-1)
    return difference


def _farthest(curve: FloatArray) -> float:
    seen = np.flatnonzero(curve >= JUST_SEEN)
    if not seen.size:
        return 0.0
    last = int(seen[-1])
    if last == len(curve) - 1:
        return float(DISTANCES_MM[-1])
    share = (curve[last] - JUST_SEEN) / (curve[last] - curve[last + 1])
    return float(DISTANCES_MM[last] * (DISTANCES_MM[last + 1] / DISTANCES_MM[last]) ** share)


def _opponent_of_rgb() -> FloatArray:
    """Opponent channels of linear RGB relative to the paper, the colour ones without grey."""
    opponent = PUBLISHED_OPPONENT @ XYZ_OF_LINEAR_SRGB
    grey = opponent @ np.ones(3)
    opponent[1:] -= np.outer(grey[1:] / grey[0], opponent[0])
    return opponent


def _waves(picture: FloatArray) -> FloatArray:
    """Cosine series of each opponent channel; the picture goes on mirrored beyond its borders."""
    from scipy.fft import dctn

    opponent = np.moveaxis(picture @ _opponent_of_rgb().T, -1, 0)
    return np.asarray(dctn(opponent, type=2, axes=(1, 2)))


def _seen_lab(waves: FloatArray, pixels_per_mm: float, distance_mm: float) -> FloatArray:
    """CIELAB of a picture after the eye's filters at a distance."""
    from scipy.fft import idctn

    rows, columns = waves.shape[1:]
    # term k of a cosine series over n pixels has k/2 cycles in them
    down = np.arange(rows)[:, None] / (2 * rows) * pixels_per_mm
    across = np.arange(columns)[None, :] / (2 * columns) * pixels_per_mm
    at_eye = cycles_per_degree(np.hypot(down, across), distance_mm)
    passed = np.stack([scielab_transfer(at_eye, channel) for channel in CHANNELS])
    seen = np.moveaxis(idctn(waves * passed, type=2, axes=(1, 2)), 0, -1)
    return _lab(seen @ (XYZ_OF_LINEAR_SRGB @ np.linalg.inv(_opponent_of_rgb())).T)


def _lab(xyz: FloatArray) -> FloatArray:
    """CIE L*a*b* relative to the paper."""
    relative = xyz / (XYZ_OF_LINEAR_SRGB @ np.ones(3))
    root = np.where(
        relative > (6 / 29) ** 3, np.cbrt(relative), relative * (29 / 6) ** 2 / 3 + 4 / 29
    )
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)
