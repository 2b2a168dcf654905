"""The prints of two settings laid on each other, from the pictures kept with their numbers."""

from __future__ import annotations

import pickle
from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.visibility.picture_difference import MOST_PRINTS, PictureSeen, pictures_seen
from dotloupe.storage import cache as kept

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.measurement import Measurement
    from dotloupe.patch import Patch
    from dotloupe.registration import SmallPicture

OWN_TO_A_PRINT = ("mark", "code", "text")
"""Elements that say which print it is and differ between any two: taken for paper, so that the
eye's blur carries nothing of them over to others."""

RIM_MM = 0.3


def prints_seen(first: Sequence[Measurement], second: Sequence[Measurement]) -> PictureSeen | None:
    """From how far the prints of two settings differ to the eye; None where pictures are missing.

    It is kept between runs, as the eye's view from every distance takes as long as all else that
    is compared.

    Parameters
    ----------
    first, second : sequence of Measurement
        Of one setting each; one photograph of each print is taken.
    """
    groups = [_one_a_print(shots) for shots in (first, second)]
    chosen = [m for group in groups for m in group]
    if not all(groups) or len({_layout(m) for m in chosen}) > 1:
        return None
    per_mm = _picture(chosen[0]).pixels_per_mm
    shape = _picture(chosen[0]).reflectance.shape[:2]
    patch = chosen[0].details["registration"].patch
    names = _inside(patch, per_mm, shape, own_to_a_print=True)
    own, others = ([_without(m, names) for m in group] for group in groups)
    looked_at = _inside(patch, per_mm, shape, own_to_a_print=False)
    name = kept.name_of("seen", own, others, per_mm, looked_at)
    content = kept.recall(name)
    if content is not None:
        found: PictureSeen = pickle.loads(content)  # noqa: S301  whole, and of this very program
        return found
    seen = pictures_seen(own, others, per_mm, looked_at=looked_at)
    kept.keep(name, pickle.dumps(seen, protocol=pickle.HIGHEST_PROTOCOL))
    return seen


def _one_a_print(shots: Iterable[Measurement]) -> list[Measurement]:
    by_print: dict[str, Measurement] = {}
    for m in shots:
        registration = m.details.get("registration")
        if "picture" in m.details and getattr(registration, "patch", None) is not None:
            by_print.setdefault(m.print_id, m)
    return list(by_print.values())[:MOST_PRINTS]


def _picture(m: Measurement) -> SmallPicture:
    found: SmallPicture = m.details["picture"]
    return found


def _layout(m: Measurement) -> tuple[object, ...]:
    patch = m.details["registration"].patch
    picture = _picture(m)
    return (patch.kind, picture.reflectance.shape, picture.pixels_per_mm)


def _without(m: Measurement, names: NDArray[np.bool_]) -> FloatArray:
    """Picture of a print with paper in place of what names it."""
    light = _picture(m).reflectance.astype(np.float32)
    light[names] = 1.0
    return light


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
