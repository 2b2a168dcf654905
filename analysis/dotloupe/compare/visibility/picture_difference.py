"""From how far two prints differ to the eye in lightness and colour, picture against picture."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.errors import InputError
from dotloupe.measure import cycles_per_degree, last_above, scielab_transfer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray, IntArray, Interval
    from dotloupe.measure import OpponentChannel

XYZ_OF_LINEAR_SRGB = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
"""IEC 61966-2-1."""

PUBLISHED_OPPONENT = np.array(
    [[0.279, 0.720, -0.107], [-0.449, 0.290, -0.077], [0.086, -0.590, 0.501]]
)
"""Luminance, red-green, blue-yellow of XYZ.

Zhang and Wandell, J. Soc. Inf. Display 5 (1997) 61; from memory.
"""

CHANNELS: tuple[OpponentChannel, ...] = ("luminance", "red-green", "blue-yellow")
JUST_VISIBLE = 1.0
"""CIELAB difference that is just seen side by side (common practice)."""

SHARE_OF_AREA = 95.0
"""Percentile of the area whose difference counts: what differs on a twentieth of it is found."""

DISTANCES_MM: FloatArray = np.geomspace(250.0, 5000.0, 12)
MOST_PRINTS = 3
"""Prints of a setting that are compared."""


@dataclass(frozen=True)
class PictureVisibility:
    """From how far the prints of two settings differ to the eye, beyond what repeats do.

    Attributes
    ----------
    distance_mm : float
        Largest distance at which a twentieth of the area differs by a just seen difference; 0
        where not even from 250 mm, and never beyond 5 m.
    interval : tuple of float
        Its 95 % interval from three prints a setting on; from fewer, least and greatest over the
        pairs of prints.
    repeats_known : bool
        Each setting has the three prints that an interval takes. With fewer, nothing is claimed:
        the spread over a few pairs can be far narrower than the uncertainty.
    distances_mm, difference, low, high : ndarray (m,)
        The CIELAB difference against the viewing distance, and its interval.
    """

    distance_mm: float
    interval: Interval
    repeats_known: bool
    distances_mm: FloatArray
    difference: FloatArray
    low: FloatArray
    high: FloatArray


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
    _check_alike(first, second)
    passed = _passed(first.shape[:2], pixels_per_mm, viewing_distance_mm)
    views = [_filtered_lab(_waves(p), passed) for p in (first, second)]
    return _difference(*views)


def picture_visibility(
    first: Sequence[FloatArray],
    second: Sequence[FloatArray],
    pixels_per_mm: float,
    *,
    part: NDArray[np.bool_] | None = None,
) -> PictureVisibility:
    """From how far the prints of two settings differ to the eye.

    Parameters
    ----------
    first, second : sequence of ndarray, shape (rows, columns, 3)
        One a print, linear RGB reflectance relative to the paper, the same mm on the same grid;
        the first three of each are taken.
    pixels_per_mm : float
        Of the grid.
    part : bool ndarray (rows, columns), optional
        The part of the area that counts; all if not given.

    Returns
    -------
    PictureVisibility

    Raises
    ------
    InputError
        A setting without a picture, or pictures of different shapes.

    Notes
    -----
    Grain lies elsewhere in every print, so that two prints of one setting differ as well. What
    varies so adds in squares: the mean square between settings less that between repeats is what
    the settings differ by. Its interval is by leaving one print out in turn (jackknife).
    """
    if not first or not second:
        raise InputError("a setting without a picture: give a print of each")
    first, second = first[:MOST_PRINTS], second[:MOST_PRINTS]
    _check_alike(*first, *second)
    if part is None:
        part = np.ones(first[0].shape[:2], dtype=bool)
    settings = np.array([0] * len(first) + [1] * len(second))
    squares = _pair_squares([_waves(p) for p in (*first, *second)], pixels_per_mm, part)
    everyone = np.arange(len(settings))
    excess = _excess(squares, settings, everyone)
    repeats_known = min(len(first), len(second)) >= MOST_PRINTS
    if repeats_known:
        low, high = _jackknife(squares, settings, excess)
    else:
        across = squares[:, settings[:, None] < settings[None, :]]
        shift = excess - across.mean(axis=1)
        low, high = across.min(axis=1) + shift, across.max(axis=1) + shift
    curves = [np.sqrt(np.maximum(c, 0)) for c in (excess, low, high)]
    distance, nearest, farthest = map(_farthest, curves)
    return PictureVisibility(distance, (nearest, farthest), repeats_known, DISTANCES_MM, *curves)


def _check_alike(*pictures: FloatArray) -> None:
    shapes = {p.shape for p in pictures}
    shape = shapes.pop()
    if shapes or len(shape) != 3 or shape[2] != len(CHANNELS):
        raise InputError("pictures of one shape and three channels are needed: cut them alike")


def _pair_squares(
    waves: Sequence[FloatArray], pixels_per_mm: float, part: NDArray[np.bool_]
) -> FloatArray:
    """Squared differences of all pairs of prints at all distances, (distances, prints, prints)."""
    count = len(waves)
    squares = np.zeros((len(DISTANCES_MM), count, count))
    for i, distance_mm in enumerate(DISTANCES_MM):
        passed = _passed(part.shape, pixels_per_mm, distance_mm)
        views = [_filtered_lab(w, passed, part) for w in waves]
        for a, b in combinations(range(count), 2):
            share = np.percentile(_difference(views[a], views[b]), SHARE_OF_AREA)
            squares[i, a, b] = squares[i, b, a] = share**2
    return squares


def _excess(squares: FloatArray, settings: IntArray, kept: IntArray) -> FloatArray:
    """Mean square between settings less that between repeats, of the prints kept."""
    own = settings[kept]
    chosen = squares[:, kept[:, None], kept[None, :]]
    between = chosen[:, own[:, None] < own[None, :]].mean(axis=1)
    pairs = np.triu(own[:, None] == own[None, :], 1)
    within = [
        chosen[:, pairs & (own[:, None] == s)].mean(axis=1)
        for s in (0, 1)
        if np.any(pairs & (own[:, None] == s))
    ]
    result: FloatArray = between - np.mean(within, axis=0) if within else between
    return result


def _jackknife(
    squares: FloatArray, settings: IntArray, excess: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """95 % interval of the excess by leaving out one print of a setting in turn."""
    variance = np.zeros_like(excess)
    for setting in (0, 1):
        members = np.flatnonzero(settings == setting)
        without = [
            _excess(squares, settings, np.delete(np.arange(len(settings)), member))
            for member in members
        ]
        n = len(members)
        variance += (n - 1) / n * np.sum((without - np.mean(without, axis=0)) ** 2, axis=0)
    half = float(scipy.special.stdtrit(len(settings) - 2, 0.975)) * np.sqrt(variance)
    return excess - half, excess + half


def _difference(first: FloatArray, second: FloatArray) -> FloatArray:
    """Distance in CIELAB, coordinates first."""
    lightness, red, yellow = (first - second) ** 2
    difference: FloatArray = np.sqrt(lightness + red + yellow)
    return difference


def _farthest(curve: FloatArray) -> float:
    farthest = last_above(DISTANCES_MM, curve, JUST_VISIBLE, geometric=True)
    return 0.0 if np.isnan(farthest) else farthest


def _opponent_of_rgb() -> FloatArray:
    """Opponent channels of linear RGB relative to the paper, the colour ones without grey."""
    opponent = PUBLISHED_OPPONENT @ XYZ_OF_LINEAR_SRGB
    grey = opponent @ np.ones(3)
    opponent[1:] -= np.outer(grey[1:] / grey[0], opponent[0])
    return opponent


def _waves(picture: FloatArray) -> FloatArray:
    """Cosine series of each opponent channel; the picture goes on mirrored beyond its borders."""
    from scipy.fft import dctn

    opponent = np.moveaxis(picture.astype(np.float32) @ _opponent_of_rgb().T, -1, 0)
    return np.asarray(dctn(opponent.astype(np.float32), type=2, axes=(1, 2)))


def _passed(shape: tuple[int, ...], pixels_per_mm: float, distance_mm: float) -> FloatArray:
    """Share of each wave of `_waves` that the eye's filters pass at a distance, by channel."""
    rows, columns = shape
    # term k of a cosine series over n pixels has k/2 cycles in them
    down = np.arange(rows)[:, None] / (2 * rows) * pixels_per_mm
    across = np.arange(columns)[None, :] / (2 * columns) * pixels_per_mm
    at_eye = cycles_per_degree(np.hypot(down, across), distance_mm)
    passed = np.stack([scielab_transfer(at_eye, channel) for channel in CHANNELS])
    return passed.astype(np.float32)


def _filtered_lab(
    waves: FloatArray, passed: FloatArray, part: NDArray[np.bool_] | slice = slice(None)
) -> FloatArray:
    """CIELAB of a part of a picture after the eye's filters, coordinates first."""
    from scipy.fft import idctn

    filtered = idctn(waves * passed, type=2, axes=(1, 2))
    to_xyz = XYZ_OF_LINEAR_SRGB @ np.linalg.inv(_opponent_of_rgb())
    return _lab(np.moveaxis(filtered, 0, -1)[part] @ to_xyz.T.astype(np.float32))


def _lab(xyz: FloatArray) -> FloatArray:
    """CIE L*a*b* relative to the paper, coordinates first."""
    relative = xyz / (XYZ_OF_LINEAR_SRGB @ np.ones(3))
    root = np.where(
        relative > (6 / 29) ** 3, np.cbrt(relative), relative * (29 / 6) ** 2 / 3 + 4 / 29
    )
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)])
