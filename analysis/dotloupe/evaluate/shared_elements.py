"""One element of a print seen in several photographs: one result, averaged by the errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Generic, TypeVar

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure import Uncertainty
from dotloupe.number import Number
from dotloupe.units import NORMAL_95

SAMPLED_ALIKE = 1.1
"""Times that samplings may differ: the camera's share in what is measured hangs on them."""
CURVES = ("mtf", "mtf_low", "mtf_high")
LEAST_ERROR, MOST_ERROR = 1e-9, 1e9

Result = TypeVar("Result")


@dataclass(frozen=True)
class Sighting(Generic[Result]):
    """What one photograph says of an element.

    Attributes
    ----------
    path : str
        The photograph.
    pixels_per_mm : float
    error : float
        Of the result, in any unit that all sightings of the element share.
    result
    """

    path: str
    pixels_per_mm: float
    error: float
    result: Result


def sampled_finest(sightings: Sequence[Sighting[Result]]) -> list[Sighting[Result]]:
    """Those sampled as finely as the finest: others have more of the camera in them."""
    finest = max((s.pixels_per_mm for s in sightings), default=0.0)
    return [s for s in sightings if is_sampled_alike(s.pixels_per_mm, finest)]


def is_sampled_alike(pixels_per_mm: float, finest: float) -> bool:
    """Whether a sampling is that of the finest, as nearly as a set-up keeps it."""
    return finest / SAMPLED_ALIKE <= pixels_per_mm <= finest


def averaged(sightings: Sequence[Sighting[Result]]) -> Result:
    """Weighted mean of scalars that have an interval and of MTF curves; the rest is the best's.

    All see the same dots, so that no error shrinks; where they differ by more than their intervals
    say, the intervals grow.

    Parameters
    ----------
    sightings : sequence of Sighting
        Of one element, at least one.
    """
    best = min(sightings, key=lambda s: s.error).result
    if len(sightings) == 1:
        return best
    results: list[Any] = [s.result for s in sightings]
    weights = np.clip([s.error for s in sightings], LEAST_ERROR, MOST_ERROR) ** -2.0
    weights /= weights.sum()
    changed: dict[str, Any] = {}
    names = [f.name for f in fields(best)]  # type: ignore[arg-type]
    for name in (n for n in names if f"{n}_interval" in names):
        values = np.array([getattr(r, name) for r in results], dtype=float)
        ends = np.array([getattr(r, f"{name}_interval") for r in results], dtype=float)
        if not np.all(np.isfinite(values)):
            continue
        mean, interval, factor = _mean(values, ends, weights)
        changed |= {name: mean, f"{name}_interval": interval}
        if f"{name}_uncertainty" in names:
            errors = [getattr(r, f"{name}_uncertainty") for r in results]
            changed[f"{name}_uncertainty"] = _uncertainty(errors, weights, factor)
    for name in (n for n in names if n in CURVES):
        grid = best.frequency  # type: ignore[attr-defined]
        curves = [np.interp(grid, r.frequency, getattr(r, name)) for r in results]
        changed[name] = np.tensordot(weights, curves, axes=1)
    return replace(best, **changed)  # type: ignore[type-var]


def averaged_number(numbers: Sequence[Number]) -> Number:
    """Weighted mean of one number of several photographs of a print, as `averaged` does."""
    if len(numbers) == 1:
        return numbers[0]
    errors = [n.uncertainty for n in numbers]
    known = [np.nan if e is None else e.standard_error for e in errors]
    if not np.all(np.isfinite(known)):
        return min(numbers, key=lambda n: n.high - n.low)
    weights = np.maximum(known, LEAST_ERROR) ** -2.0
    weights /= weights.sum()
    values = np.array([n.value for n in numbers])
    ends = np.array([(n.low, n.high) for n in numbers])
    mean, (low, high), factor = _mean(values, ends, weights)
    uncertainty = _uncertainty(errors, weights, factor)
    return replace(numbers[0], value=mean, low=low, high=high, uncertainty=uncertainty)


def _mean(
    values: FloatArray, ends: FloatArray, weights: FloatArray
) -> tuple[float, tuple[float, float], float]:
    """Mean, its interval, and how many times that is wider than the photographs' own."""
    mean = float(weights @ values)
    reach = weights @ np.abs(ends - values[:, None])
    spread = np.sqrt(weights @ (values - mean) ** 2 / (len(values) - 1))
    half = float(np.mean(reach))
    factor = max(1.0, NORMAL_95 * float(spread) / half) if 0 < half < np.inf else 1.0
    return mean, (mean - factor * float(reach[0]), mean + factor * float(reach[1])), factor


def _uncertainty(
    errors: Sequence[Uncertainty | None], weights: FloatArray, factor: float
) -> Uncertainty | None:
    known = [e for e in errors if e is not None]
    if len(known) < len(errors):
        return None
    square = float(weights @ np.array([e.standard_error for e in known]) ** 2)
    return Uncertainty(factor * square**0.5, min(e.degrees for e in known))
