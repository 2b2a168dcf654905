"""One criterion against the sent ppi: points, smooth rise, plateau, values that stand out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.compare.cautions import (
    LowestIsEnough,
    OnePrintEachPpi,
    StillRising,
    TooFewForOutstanding,
    TooFewForTrend,
)
from dotloupe.compare.ladder.ceiling import CameraCeiling, camera_ceiling
from dotloupe.compare.ladder.outstanding import FEWEST_POINTS, Departure, departures
from dotloupe.compare.ladder.saturation import Saturation, fit_saturation
from dotloupe.compare.prints import Sample, sample
from dotloupe.storage import plain
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.cautions import Caution
    from dotloupe.measurement import Measurement
    from dotloupe.number import Criterion

FEWEST_FOR_TREND = 4
DRAWN_POINTS = 120


@dataclass(frozen=True)
class Rung:
    """One sent ppi.

    Attributes
    ----------
    sent_ppi : float
        Resolution of the file sent.
    value, low, high : float
        Mean over the prints and its 95 % interval, in the criterion's unit.
    n : int
        Number of prints.
    prints : tuple of float
        Value of each print.
    nyquist : float
        Finest frequency that the file can hold, in cycles/mm.
    """

    sent_ppi: float
    value: float
    low: float
    high: float
    n: int
    prints: tuple[float, ...]
    nyquist: float


@dataclass(frozen=True)
class Rise:
    """The smooth rise through the points, drawn, with where it levels off.

    Attributes
    ----------
    sent_ppi, value, low, high : ndarray (m,)
        The trend and its 95 % interval, from below the lowest to above the highest ppi.
    plateau : float
        Detail at unlimited ppi.
    plateau_interval : tuple of float
        Its 95 % interval.
    enough_ppi : float or None
        Least of the ppi sent that reaches the share of the plateau; None where none does.
    enough_for_sure_ppi : float or None
        Least of the ppi sent that reaches it with 97.5 % confidence.
    crossing_ppi : float
        Where the trend itself reaches the share.
    crossing_interval : tuple of float
        Its 95 % interval.
    """

    sent_ppi: FloatArray
    value: FloatArray
    low: FloatArray
    high: FloatArray
    plateau: float
    plateau_interval: Interval
    enough_ppi: float | None
    enough_for_sure_ppi: float | None
    crossing_ppi: float
    crossing_interval: Interval


@dataclass(frozen=True)
class CriterionLadder:
    """One criterion against the sent ppi.

    Attributes
    ----------
    name, unit, better, title : str
        The criterion.
    rungs : tuple of Rung
        By rising ppi.
    rise : Rise or None
        None for fewer than four ppi, and for criteria that more ppi does not raise.
    departures : tuple of Departure
        Every ppi against the trend of the others.
    saturation : Saturation or None
        The fitted curves behind the trend.
    ceiling : CameraCeiling or None
        What the camera could have shown at best; None where it bounds nothing or is not known.
    cautions : tuple of Caution
        What these points cannot say.
    """

    name: str
    unit: str
    better: str
    title: str
    rungs: tuple[Rung, ...]
    rise: Rise | None
    departures: tuple[Departure, ...]
    saturation: Saturation | None
    ceiling: CameraCeiling | None
    cautions: tuple[Caution, ...]

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the fitted curves, ready for JSON.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        return {
            "unit": self.unit,
            "better": self.better,
            "title": self.title,
            "points": plain(self.rungs),
            "rise": plain(self.rise),
            "departures": plain(self.departures),
            "camera_ceiling": plain(self.ceiling),
            "cautions": plain(self.cautions, words),
        }


def criterion_ladder(
    criterion: Criterion, shots: Mapping[float, tuple[Measurement, ...]], share: float
) -> CriterionLadder | None:
    """Points, rise and departures of one criterion; None where fewer than two ppi hold it."""
    found = {ppi: s for ppi, m in shots.items() if (s := sample(ppi, m, criterion.name))}
    if len(found) < 2:
        return None
    ppi = np.array(list(found))
    means = np.array([s.mean for s in found.values()])
    if np.any(means <= 0):
        return None
    errors, degrees = _relative_errors(list(found.values()))
    half = float(scipy.special.stdtrit(degrees, 0.975)) * errors
    rungs = tuple(
        Rung(
            sent_ppi=p,
            value=s.mean,
            low=float(s.mean * np.exp(-h)),
            high=float(s.mean * np.exp(h)),
            n=s.n,
            prints=tuple(s.values.tolist()),
            nyquist=p / MM_PER_INCH / 2,
        )
        for (p, s), h in zip(found.items(), half, strict=True)
    )
    saturation, looked_at = None, tuple[Departure, ...]()
    fitted = criterion.better == "higher" and bool(np.all(np.isfinite(errors) & (errors > 0)))
    if fitted and len(ppi) >= FEWEST_FOR_TREND:
        looked_at = departures(ppi, np.log(means), errors, degrees)
        usual = np.array([not d.outstanding for d in looked_at] or [True] * len(ppi))
        saturation = fit_saturation(ppi, np.log(means), errors, degrees, used=usual)
    rise = _rise(saturation, ppi, share) if saturation else None
    return CriterionLadder(
        name=criterion.name,
        unit=criterion.unit,
        better=criterion.better,
        title=criterion.title,
        rungs=rungs,
        rise=rise,
        departures=looked_at,
        saturation=saturation,
        ceiling=camera_ceiling(criterion.name, (m for group in shots.values() for m in group)),
        cautions=tuple(_cautions(found, fitted, rise)),
    )


def _relative_errors(samples: Sequence[Sample]) -> tuple[FloatArray, float]:
    """Standard error of the logarithm of each mean, and its degrees of freedom."""
    n = np.array([s.n for s in samples])
    means = np.array([s.mean for s in samples])
    within = np.array([s.within_variance for s in samples]) / means**2
    degrees = float(np.sum(n - 1))
    if degrees == 0:
        return np.sqrt(within), float("inf")
    between = sum(
        (s.n - 1) * s.between_variance / s.mean**2 for s in samples if s.n > 1
    ) / degrees  # fmt: skip
    pooled = max(float(between), float(np.mean(np.nan_to_num(within))))
    errors: FloatArray = np.sqrt(pooled / n)
    return errors, degrees


def _rise(saturation: Saturation, ppi: FloatArray, share: float) -> Rise:
    drawn = np.geomspace(ppi.min() / 1.2, ppi.max() * 1.2, DRAWN_POINTS)
    value, low, high = np.array([(v, *ends) for v, ends in map(saturation.at, drawn)]).T
    plateau, plateau_interval = saturation.plateau()
    crossing, ends = saturation.crossing_ppi(share)
    return Rise(
        sent_ppi=drawn,
        value=value,
        low=low,
        high=high,
        plateau=plateau,
        plateau_interval=plateau_interval,
        enough_ppi=_least(ppi, crossing),
        enough_for_sure_ppi=_least(ppi, ends[1]),
        crossing_ppi=crossing,
        crossing_interval=ends,
    )


def _least(ppi: FloatArray, reached: float) -> float | None:
    enough = ppi[ppi >= reached]
    return float(enough.min()) if enough.size else None


def _cautions(found: Mapping[float, Sample], fitted: bool, rise: Rise | None) -> list[Caution]:
    cautions: list[Caution] = []
    if all(s.n == 1 for s in found.values()):
        cautions.append(OnePrintEachPpi())
    if fitted and len(found) < FEWEST_FOR_TREND:
        cautions.append(TooFewForTrend())
    elif fitted and len(found) < FEWEST_POINTS:
        cautions.append(TooFewForOutstanding())
    if rise and rise.enough_ppi is None:
        cautions.append(StillRising())
    if rise and rise.enough_ppi == min(found):
        cautions.append(LowestIsEnough())
    return cautions
