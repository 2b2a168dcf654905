"""One print from photographs of its parts: every place from the one that shows it best."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.report.crops.crop import (
    Photograph,
    Unseen,
    View,
    encoded,
    is_unchanged,
    jpegs,
    name_of_view,
    photograph,
)
from dotloupe.storage import cache

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.measurement import Measurement

DEEP_MM = 1.0
"""From the border of a photograph: what lies deeper in it is shown as well as can be."""


def jpegs_of_print(measurement: Measurement, views: Sequence[View]) -> tuple[bytes, ...] | Unseen:
    """Show views of a print as JPEG, from all photographs of it that can be read.

    Parameters
    ----------
    measurement : Measurement
        Of one photograph, or of several that make one print.
    views : sequence of View

    Returns
    -------
    tuple of bytes, or Unseen
        Unseen where no photograph can be read.
    """
    shots = measurement.photographs
    if len(shots) == 1:
        return jpegs(shots[0], views)
    names = [cache.cache_key("print", [name_of_view(m, view) for m in shots]) for view in views]
    there = all(map(is_unchanged, shots))
    found = [cache.load(name) if there else None for name in names]
    if not all(found):
        each = [photograph(m) for m in shots]
        readable = [one for one in each if isinstance(one, Photograph)]
        if not readable:
            return next(one for one in each if isinstance(one, Unseen))
        made = [encoded(laid_together(readable, view), view.quality) for view in views]
        if there and len(readable) == len(each):
            for name, jpeg in zip(names, made, strict=True):
                cache.store(name, jpeg)
        return tuple(made)
    return tuple(jpeg for jpeg in found if jpeg is not None)


def laid_together(photographs: Sequence[Photograph], view: View) -> NDArray[np.uint8]:
    """Show a view, each pixel from the photograph that samples it most finely, away from borders.

    Parameters
    ----------
    photographs : sequence of Photograph
        Of one print.
    view : View

    Returns
    -------
    ndarray of shape (rows, columns, 3), uint8
        sRGB; black where none shows the print.
    """
    pictures = np.stack([p.picture(view.box, view.pixels_per_mm) for p in photographs])
    worth = np.stack([_worth(p, view, pictures.shape[1:3]) for p in photographs])
    best = worth.argmax(axis=0)
    chosen = np.take_along_axis(pictures, best[None, ..., None], axis=0)[0]
    return np.where(worth.max(axis=0)[..., None] > 0, chosen, 0).astype(np.uint8)


def _worth(seen: Photograph, view: View, shape: tuple[int, ...]) -> FloatArray:
    """How well a photograph shows each pixel of a view, 0 where it does not."""
    import cv2

    rows, columns = seen.capture.shape
    frame = np.array([(0, 0, 1), (columns, 0, 1), (columns, rows, 1), (0, rows, 1)]) - (0.5, 0.5, 0)
    places = frame @ seen.homography.T
    corner = (view.box.x_mm, view.box.y_mm)
    outline = (places[:, :2] / places[:, 2:] - corner) * view.pixels_per_mm - 0.5
    inside = np.zeros((shape[0] + 2, shape[1] + 2), np.uint8)
    cv2.fillConvexPoly(inside, np.rint(outline + 1).astype(np.int32), 1)
    depth_mm = cv2.distanceTransform(inside, cv2.DIST_L2, 5)[1:-1, 1:-1] / view.pixels_per_mm
    return np.asarray(np.minimum(depth_mm, DEEP_MM) * seen.pixels_per_mm)
