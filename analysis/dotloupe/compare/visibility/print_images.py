"""The prints of two settings laid on each other, from the pictures kept with their numbers."""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.visibility.picture_difference import (
    MOST_PRINTS,
    PictureVisibility,
    picture_visibility,
)
from dotloupe.measurement import Measurement, PatchMeasurement
from dotloupe.storage import cache

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.patch import Patch
    from dotloupe.registration import SmallPicture

OWN_TO_A_PRINT = ("mark", "code", "text")
"""Elements that say which print it is and differ between any two: taken for paper, so that the
eye's blur carries nothing of them over to others."""

RIM_MM = 0.3


def print_visibility(
    first: Sequence[Measurement], second: Sequence[Measurement]
) -> PictureVisibility | None:
    """From how far the prints of two settings differ to the eye; None where pictures are missing.

    It is kept between runs, as the eye's view from every distance takes as long as all else that
    is compared.

    Parameters
    ----------
    first, second : sequence of Measurement
        Of one setting each; one photograph of each print is taken.
    """
    groups = [_one_a_print(shots) for shots in (first, second)]
    chosen = [image for group in groups for image in group]
    if not all(groups) or len({image.layout for image in chosen}) > 1:
        return None
    patch, per_mm = chosen[0].patch, chosen[0].picture.pixels_per_mm
    shape = chosen[0].picture.reflectance.shape[:2]
    names = _inside(patch, per_mm, shape, own_to_a_print=True)
    own, others = ([image.without(names) for image in group] for group in groups)
    part = _inside(patch, per_mm, shape, own_to_a_print=False)
    name = cache.cache_key("picture visibility", own, others, per_mm, part)
    content = cache.load(name)
    if content is not None:
        found: PictureVisibility = pickle.loads(content)  # noqa: S301  whole, and of this very program
        return found
    visibility = picture_visibility(own, others, per_mm, part=part)
    cache.store(name, pickle.dumps(visibility, protocol=pickle.HIGHEST_PROTOCOL))
    return visibility


@dataclass(frozen=True)
class _PrintImage:
    """The small picture of one print, and the patch on it."""

    patch: Patch
    picture: SmallPicture

    @property
    def layout(self) -> tuple[object, ...]:
        """What two prints must share to be laid on each other."""
        return self.patch.kind, self.picture.reflectance.shape, self.picture.pixels_per_mm

    def without(self, names: NDArray[np.bool_]) -> FloatArray:
        """Reflectance with paper in place of what names the print."""
        light = self.picture.reflectance.astype(np.float32)
        light[names] = 1.0
        return light


def _one_a_print(shots: Iterable[Measurement]) -> list[_PrintImage]:
    by_print: dict[str, _PrintImage] = {}
    for m in shots:
        patch = None if m.registration is None else m.registration.patch
        if isinstance(m, PatchMeasurement) and m.small_picture is not None and patch is not None:
            by_print.setdefault(m.print_id, _PrintImage(patch, m.small_picture))
    return list(by_print.values())[:MOST_PRINTS]


def _inside(
    patch: Patch, per_mm: float, shape: tuple[int, ...], *, own_to_a_print: bool
) -> NDArray[np.bool_]:
    """Pixels of the elements that name a print, with a rim, or of all others."""
    inside = np.zeros(shape, dtype=bool)
    rim = RIM_MM * per_mm if own_to_a_print else 0.0
    for region in patch.regions.values():
        if (region.kind in OWN_TO_A_PRINT) != own_to_a_print:
            continue
        (left, top), _, (right, bottom), _ = (
            (x * per_mm, y * per_mm) for x, y in region.corners_mm
        )
        rows = slice(max(0, ceil(top - rim)), floor(bottom + rim))
        inside[rows, max(0, ceil(left - rim)) : floor(right + rim)] = True
    return inside
