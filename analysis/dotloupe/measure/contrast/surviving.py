"""Up to which frequency gratings of one modulation survive the print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dotloupe.arrays import BoolArray, FloatArray, Interval
from dotloupe.measure.contrast.detection import border_index
from dotloupe.measure.contrast.grating import KEPT, Grating
from dotloupe.measure.level_crossing import reach

EndedBy = Literal["grain", "contrast", "sent file", "gratings", "nothing survives"]
DRAWS = 2000


@dataclass(frozen=True)
class Survival:
    """Border of what survives at one modulation.

    Attributes
    ----------
    modulation : float
        As sent.
    limit : float or None
        lp/mm up to which a grating survives; None where the coarsest does not.
    interval : (float, float)
        Its 95 % interval: 0 stands for below the coarsest grating, infinity for above the finest.
    ended_by : str
        "grain": the first grating to go is lost in it. "contrast": it keeps too little. "sent
        file": the next grating lies above the Nyquist frequency of the file. "gratings": the finest
        survives. "nothing survives".
    """

    modulation: float
    limit: float | None
    interval: Interval
    ended_by: EndedBy


def survival(gratings: Sequence[Grating], *, nyquist: float | None = None) -> Survival:
    """Find up to which frequency gratings of one modulation survive.

    A grating survives that stands out of the grain and keeps a tenth of its modulation.

    Parameters
    ----------
    gratings : sequence of Grating
        Of one modulation, tone and direction.
    nyquist : float, optional
        Of the file that was sent, lp/mm.

    Notes
    -----
    What counts is the lesser of two ratios: amplitude over the one at `border_index`, and
    modulation kept over `KEPT`. It counts as falling with frequency: it is replaced by the nearest
    sequence that never rises (isotonic regression), so that one unlucky cell ends nothing. The
    border lies where that falls to 1, interpolated over the logarithm of the frequency. The
    interval is that of borders drawn anew: each amplitude varied as the grain does, and each
    deviation of the grain as its degrees of freedom say.
    """
    ordered = sorted(gratings, key=lambda g: g.frequency)
    frequency = np.array([g.frequency for g in ordered])
    carried = np.array([g.carried for g in ordered])
    ceiling = np.inf if nyquist is None else nyquist

    def limits(rows: FloatArray) -> FloatArray:
        return reach(frequency, rows, carried, 1.0, ceiling)

    outlasts, keeps = _ratios(ordered, np.zeros((1, len(ordered))), np.ones((1, len(ordered))))
    margin = never_rising(np.minimum(outlasts, keeps))
    limit = float(limits(margin)[0])
    drawn = limits(never_rising(np.minimum(*_ratios(ordered, *_chances(ordered)))))
    low, high = (float(end) for end in np.quantile(drawn, [0.025, 0.975]))
    number = int(np.sum((margin[0] > 1) & carried))
    by_grain = outlasts[0] < keeps[0]
    ended_by = _ended_by(number, carried, by_grain)
    if ended_by == "gratings":
        high = float("inf")
    elif ended_by == "sent file" or high >= frequency[np.flatnonzero(carried)[-1]]:
        high = max(high, ceiling)
    elif ended_by == "nothing survives":
        high = max(high, float(frequency[0]))
    modulation = ordered[0].modulation
    return Survival(modulation, limit if number else None, (low, high), ended_by)


def never_rising(rows: FloatArray) -> FloatArray:
    """Nearest sequences that never rise, by least squares, of each row of (m, n) values.

    The minimum over j <= i of the maximum over k >= i of the mean from j to k (Robertson, Wright
    and Dykstra, *Order Restricted Statistical Inference*, 1988; from memory).
    """
    count = rows.shape[1]
    sums = np.concatenate([np.zeros((len(rows), 1)), np.cumsum(rows, axis=1)], axis=1)
    fitted = np.full(rows.shape, np.inf)
    for start in range(count):
        ends = np.arange(start, count)
        means = (sums[:, ends + 1] - sums[:, start, None]) / (ends - start + 1)
        most = np.maximum.accumulate(means[:, ::-1], axis=1)[:, ::-1]
        fitted[:, start:] = np.minimum(fitted[:, start:], most)
    return fitted


def _ratios(
    gratings: Sequence[Grating], chance: FloatArray, grain: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Amplitude over what grain asks for, and modulation kept over what is asked for.

    `chance` is added to each amplitude in deviations of the grain, which is `grain` times what was
    measured; shapes (m, n).
    """
    deviation = np.array([g.uncertainty.standard_error for g in gratings]) * grain
    amplitude = np.array([g.amplitude for g in gratings]) + chance * deviation
    sent = np.array([g.sent for g in gratings])
    return amplitude / (border_index() * deviation), amplitude / (KEPT * sent)


def _chances(gratings: Sequence[Grating]) -> tuple[FloatArray, FloatArray]:
    """Chance and grain for `_ratios`, shape (DRAWS, n)."""
    rng = np.random.default_rng(0)
    shape = (DRAWS, len(gratings))
    degrees = np.array([g.uncertainty.degrees for g in gratings])
    return rng.standard_normal(shape), np.sqrt(degrees / rng.chisquare(degrees, shape))


def _ended_by(number: int, carried: BoolArray, by_grain: BoolArray) -> EndedBy:
    if not number:
        return "nothing survives" if carried[0] else "sent file"
    if number == len(carried):
        return "gratings"
    if not carried[number]:
        return "sent file"
    return "grain" if by_grain[number] else "contrast"
