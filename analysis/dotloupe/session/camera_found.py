"""The camera that a run's own photographs tell of: one print of it, at two distances."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import NotFitError
from dotloupe.measurement import print_id

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from dotloupe.evaluate import CameraByScale
    from dotloupe.measurement import Measurement


@dataclass(frozen=True)
class CameraFound:
    """What two distances of one print tell of the camera, and where they do not, why.

    Attributes
    ----------
    camera : CameraByScale or None
    unused : mapping of str to str
        By the path of a photograph that is one of two distances, why they do not tell.
    """

    camera: CameraByScale | None = None
    unused: Mapping[str, str] = field(default_factory=dict)


def named_together(paths: Sequence[Path]) -> list[Path]:
    """Files whose names say that others of the same folder show the same print."""
    prints: dict[tuple[Path, str], list[Path]] = defaultdict(list)
    for path in dict.fromkeys(paths):
        prints[path.parent, print_id(str(path))].append(path)
    return [path for group in prints.values() if len(group) > 1 for path in group]


def camera_found(measurements: Iterable[Measurement]) -> CameraFound:
    """Camera by the two distances of one print that lie furthest apart and can be used.

    Parameters
    ----------
    measurements : iterable of Measurement
        With the camera in, each named after its print.
    """
    from dotloupe.evaluate import camera_by_scale, is_camera_pair, scale_ratio

    prints: dict[tuple[Path, str], list[Measurement]] = defaultdict(list)
    for m in measurements:
        prints[Path(m.path).parent, m.print_id].append(m)
    pairs = [
        pair
        for group in prints.values()
        for pair in combinations(group, 2)
        if is_camera_pair(*pair)
    ]
    unused: dict[str, str] = {}
    for pair in sorted(pairs, key=lambda p: -scale_ratio(*p)):
        try:
            return CameraFound(camera_by_scale(*pair))
        except NotFitError as error:
            unused |= {m.path: str(error) for m in pair}
    return CameraFound(None, unused)
