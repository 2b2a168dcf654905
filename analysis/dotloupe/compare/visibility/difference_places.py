"""Where in a framed picture the prints of several settings differ most to the eye."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.visibility.picture_difference import MOST_PRINTS, picture_difference
from dotloupe.measurement import PictureMeasurement

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.arrays import FloatArray
    from dotloupe.measurement import Measurement
    from dotloupe.patch import Patch, Region

PLACE_MM = 2.0
"""Side of the square that a place is."""
MOST_PLACES = 6
FRAMED = "picture"
"""Element of a frame that is the picture."""


@dataclass(frozen=True)
class DifferencePlace:
    """A square of a frame in which two settings differ.

    Attributes
    ----------
    x_mm, y_mm : float
        Its middle, in mm of the frame.
    side_mm : float
    difference : float
        CIELAB difference, root mean square over the square, of what the eye sees of the two.
    settings : (str, str)
        The two that differ most there.
    """

    x_mm: float
    y_mm: float
    side_mm: float
    difference: float
    settings: tuple[str, str]


def difference_places(
    settings: Mapping[str, Sequence[Measurement]], viewing_distance_mm: float
) -> tuple[DifferencePlace, ...]:
    """Find the squares, clear of each other, in which any two settings differ most to the eye.

    Parameters
    ----------
    settings : mapping of str to sequence of Measurement
        Of prints of the same part of a picture in its frame. The mean of the first prints of each
        is compared, so that their grain counts less.
    viewing_distance_mm : float

    Returns
    -------
    tuple of DifferencePlace
        The greatest first; empty where fewer than two settings have such prints.
    """
    prints = {name: _framed(measurements) for name, measurements in settings.items()}
    prints = {name: group for name, group in prints.items() if group}
    every = [one for group in prints.values() for one in group]
    pairs = list(combinations(prints, 2))
    if not pairs or len({one.layout for one in every}) > 1:
        return ()
    patch, per_mm = every[0].patch, every[0].pixels_per_mm
    views = {name: np.mean([one.light for one in group], axis=0) for name, group in prints.items()}
    squares = np.stack(
        [
            _mean_square(
                picture_difference(views[a], views[b], per_mm, viewing_distance_mm), per_mm
            )
            for a, b in pairs
        ]
    )
    inside = _middles_inside(squares.shape[1:], patch.regions[FRAMED], per_mm)
    return tuple(_greatest(np.where(inside, squares, -1.0), pairs, per_mm))


@dataclass(frozen=True)
class _FramedPrint:
    """A frame and what the eye is shown of one print of it."""

    patch: Patch
    light: FloatArray
    pixels_per_mm: float

    @property
    def layout(self) -> tuple[object, ...]:
        """What prints must share to show the same part on the same grid."""
        return self.patch.corner_mm, self.light.shape, self.pixels_per_mm


def _framed(measurements: Sequence[Measurement]) -> list[_FramedPrint]:
    """One photograph of each of the first prints, of those in a frame."""
    by_print: dict[str, _FramedPrint] = {}
    for m in measurements:
        frame = None if m.registration is None else m.registration.frame
        if not isinstance(m, PictureMeasurement) or m.small_picture is None or frame is None:
            continue
        light = m.small_picture.reflectance.astype(np.float32)
        one = _FramedPrint(frame.patch, light, m.small_picture.pixels_per_mm)
        by_print.setdefault(m.print_id, one)
    return list(by_print.values())[:MOST_PRINTS]


def _mean_square(difference: FloatArray, per_mm: float) -> FloatArray:
    """Mean square over the square about each pixel."""
    side = round(PLACE_MM * per_mm)
    return np.asarray(scipy.ndimage.uniform_filter(difference**2, side, mode="nearest"))


def _middles_inside(shape: tuple[int, ...], region: Region, per_mm: float) -> FloatArray:
    """Whether a square about a pixel lies in the picture."""
    y, x = ((np.arange(n) + 0.5) / per_mm for n in shape)
    half = PLACE_MM / 2
    across = (x >= region.x_mm + half) & (x <= region.x_mm + region.width_mm - half)
    down = (y >= region.y_mm + half) & (y <= region.y_mm + region.height_mm - half)
    return np.asarray(down[:, None] & across[None, :])


def _greatest(
    squares: FloatArray, pairs: Sequence[tuple[str, str]], per_mm: float
) -> list[DifferencePlace]:
    """Take the greatest square, then the greatest of those that do not touch it, and so on."""
    left = squares.copy()
    side = round(PLACE_MM * per_mm)
    found: list[DifferencePlace] = []
    while len(found) < MOST_PLACES:
        pair, row, column = map(int, np.unravel_index(int(left.argmax()), left.shape))
        square = float(left[pair, row, column])
        if square <= 0:
            break
        x_mm, y_mm = (float(n + 0.5) / per_mm for n in (column, row))
        found.append(DifferencePlace(x_mm, y_mm, PLACE_MM, square**0.5, pairs[pair]))
        left[:, max(row - side, 0) : row + side + 1, max(column - side, 0) : column + side + 1] = -1
    return found
