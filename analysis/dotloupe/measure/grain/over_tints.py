"""One figure for the grain of several tints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import RegionError
from dotloupe.measure.uncertainty import Uncertainty, normal_uncertainty

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.arrays import Interval
    from dotloupe.cautions import Caution
    from dotloupe.measure.grain.tint_grain import Grain


@dataclass(frozen=True)
class GrainSummary:
    """Visual graininess over several tints.

    Attributes
    ----------
    value : float
        Root of the mean square of the tints' visual graininess, each tint with equal weight.
    interval : (float, float)
        95 % interval; it covers the chance of this print's pieces of tint, not other prints.
    unit : str
    tints : tuple of str
        The tints in it, each with the same weight.
    largest : str
        The tint with the most visible grain.
    viewing_distance_mm : float
    cautions : tuple of Caution
        Those of the tints, each once.
    """

    value: float
    interval: Interval
    unit: str
    tints: tuple[str, ...]
    largest: str
    viewing_distance_mm: float
    cautions: tuple[Caution, ...]

    @property
    def uncertainty(self) -> Uncertainty | None:
        """The normal error of an interval as long as this one."""
        return normal_uncertainty(self.interval)


def summarise_grain(grains: Mapping[str, Grain]) -> GrainSummary:
    """Form one figure from the grain of several tints.

    Parameters
    ----------
    grains : mapping of tint name to Grain
        All seen from one distance.

    Returns
    -------
    GrainSummary
        The lightness variation, behind the eye, of a picture that gives each tint equal area.

    Raises
    ------
    RegionError
        Without any tint, or with tints seen from different distances.
    """
    if not grains:
        raise RegionError("there is no tint to summarise: measure the grain of one at least")
    distances = {g.viewing_distance_mm for g in grains.values()}
    if len(distances) > 1:
        raise RegionError("the tints were measured for different viewing distances: choose one")
    distance = distances.pop()
    seen = np.array([g.visual_graininess for g in grains.values()])
    low, high = np.array([g.visual_graininess_interval for g in grains.values()]).T
    count = seen.size
    # recovered variances (Zou and Donner 2008) in squares, where independent parts add
    mean_square = float(np.mean(seen**2))
    below = float(np.sqrt(np.sum((seen**2 - low**2) ** 2))) / count
    above = float(np.sqrt(np.sum((high**2 - seen**2) ** 2))) / count
    names = tuple(grains)
    return GrainSummary(
        value=mean_square**0.5,
        interval=(max(0.0, mean_square - below) ** 0.5, (mean_square + above) ** 0.5),
        unit="L* rms",
        tints=names,
        largest=names[int(np.argmax(seen))],
        viewing_distance_mm=distance,
        cautions=tuple(dict.fromkeys(c for g in grains.values() for c in g.cautions)),
    )
