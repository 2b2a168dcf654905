"""Settings whose prints show more structure that is not in the picture than grain explains."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.pairs import compare_pairs
from dotloupe.compare.prints import sample
from dotloupe.number import PICTURE_CRITERIA, Measurand, Quantity

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.compare.pairs import PairDifference
    from dotloupe.measurement import Measurement
    from dotloupe.patch import Axis

LEAST_RATIO = float(np.sqrt(2))
"""Beyond it a setting adds more power than the other's print shows at all, grain included."""


@dataclass(frozen=True)
class AddedStructure:
    """What one setting adds along one axis to the structure that another one's prints show.

    Attributes
    ----------
    setting, reference : str
        The reference is the setting whose prints show least.
    axis : {"x", "y"}
    value, reference_value : float
        Structure that is not in the picture, in % reflectance rms.
    """

    setting: str
    reference: str
    axis: Axis
    value: float
    reference_value: float

    @property
    def ratio(self) -> float:
        """All of it over the reference's."""
        return self.value / self.reference_value


def added_structure(settings: Mapping[str, Sequence[Measurement]]) -> tuple[AddedStructure, ...]:
    """Find the settings that add structure, by both axes.

    The whole 95 % interval of what a setting shows, over what the reference shows, has to exceed
    `LEAST_RATIO`.

    Parameters
    ----------
    settings : mapping of str to sequence of Measurement
    """
    axes: tuple[Axis, Axis] = ("x", "y")
    return tuple(found for axis in axes for found in _along(settings, axis))


def _along(settings: Mapping[str, Sequence[Measurement]], axis: Axis) -> list[AddedStructure]:
    name = Measurand(Quantity.UNRELATED, axis).name
    unit = PICTURE_CRITERIA[name].unit
    samples = [
        s
        for setting, measurements in settings.items()
        if (s := sample(setting, (m for m in measurements if _has(m, name, unit)), name))
    ]
    if not samples:
        return []
    ordered = sorted(samples, key=lambda s: s.mean)
    least = ordered[0]
    means = {s.setting: s.mean for s in ordered}
    return [
        AddedStructure(p.other, least.setting, axis, means[p.other], least.mean)
        for p in compare_pairs(ordered)
        if p.setting == least.setting and _least_ratio(p) > LEAST_RATIO
    ]


def _has(measurement: Measurement, name: str, unit: str) -> bool:
    number = measurement.numbers.get(name)
    return number is not None and number.unit == unit


def _least_ratio(pair: PairDifference) -> float:
    """Lower end of the interval of the greater over the lesser."""
    if not pair.distinguishable or pair.percent_high is None:
        return 1.0
    return 100 / (100 + pair.percent_high)
