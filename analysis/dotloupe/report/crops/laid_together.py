"""One print from photographs of its parts: every place from the one that shows it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.report.crops.crop import (
    Photograph,
    Unseen,
    View,
    encoded,
    photograph,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.measurement import Measurement

DEEP_MM = 1.0
"""From the border of a photograph: what lies deeper in it is shown as well as can be."""


@dataclass(frozen=True)
class Shown:
    """Views of a print as JPEG, and whether every photograph of it could be read for them."""

    jpegs: tuple[bytes, ...]
    whole: bool


def jpegs_of_print(measurement: Measurement, views: Sequence[View]) -> Shown | Unseen:
    """Show views of a print as JPEG, from all photographs of it that can be read.

    On one thread, so that they are the same bytes wherever they are made.

    Parameters
    ----------
    measurement : Measurement
        Of one photograph, or of several that make one print.
    views : sequence of View

    Returns
    -------
    Shown, or Unseen
        Unseen where no photograph can be read.
    """
    from threadpoolctl import threadpool_limits

    each = [photograph(m) for m in measurement.photographs]
    readable = [one for one in each if isinstance(one, Photograph)]
    if not readable:
        return next(one for one in each if isinstance(one, Unseen))
    with threadpool_limits(1):
        jpegs = tuple(encoded(laid_together(readable, view), view.quality) for view in views)
    return Shown(jpegs, len(readable) == len(each))


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
    if len(photographs) == 1:
        return photographs[0].picture(view.box, view.pixels_per_mm)
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
