"""What a change of a number costs to the eye."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dotloupe.compare.history.series import known_measurands
from dotloupe.compare.history.trend import Trend
from dotloupe.compare.visibility import Alignment, alignment, just_visible_um, visible_scales
from dotloupe.measurement import Measurement
from dotloupe.number import Number, Quantity
from dotloupe.units import VIEWING_DISTANCE_MM

MISPLACED = (Quantity.OFFSET, Quantity.PASSES_APART)


@dataclass(frozen=True)
class EyeCost:
    """What a change costs to the eye at a viewing distance.

    Attributes
    ----------
    viewing_distance_mm : float
    steps : float or None
        Just visible steps for the worse, of grain and sharpness.
    just_visible_um : float or None
        Smallest visible offset, of what is misplaced.
    offset : Alignment or None
        Whether the last visit's offset is visible.
    """

    viewing_distance_mm: float
    steps: float | None = None
    just_visible_um: float | None = None
    offset: Alignment | None = None


def eye_costs(trends: Mapping[str, Trend]) -> dict[str, EyeCost]:
    """Return what the last visit costs to the eye against the baseline, where it is known.

    Parameters
    ----------
    trends : mapping of str to Trend
        By name of the number.
    """
    found = {}
    for name, trend in trends.items():
        measurand, latest = known_measurands().get(name), trend.latest
        if measurand and measurand.quantity in MISPLACED and latest.low is not None:
            high = latest.low if latest.high is None else latest.high
            found[name] = EyeCost(
                VIEWING_DISTANCE_MM,
                just_visible_um=just_visible_um(VIEWING_DISTANCE_MM),
                offset=alignment((latest.low, high), VIEWING_DISTANCE_MM),
            )
    compared = {n: t for n, t in trends.items() if t.baseline is not None}
    before = _bare({n: (t.baseline.centre, t.unit) for n, t in compared.items() if t.baseline})
    after = _bare({n: (t.latest.value, t.unit) for n, t in compared.items()})
    scales = visible_scales({"before": [before], "after": [after]}, VIEWING_DISTANCE_MM)
    for name, scale in scales.items():
        if name in compared:
            old, new = before.numbers[name].value, after.numbers[name].value
            steps = scale.at_viewing(old) - scale.at_viewing(new)
            found[name] = EyeCost(VIEWING_DISTANCE_MM, steps=steps)
    return found


def _bare(values: Mapping[str, tuple[float, str]]) -> Measurement:
    """The means of several prints, as a measurement of nothing but its numbers."""
    numbers = {name: Number(value, value, value, unit) for name, (value, unit) in values.items()}
    return Measurement("", "", "", None, None, True, (), (), numbers)
