"""Where a transfer falls to half of what it is for coarse detail."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.level_crossing import falls_below
from dotloupe.measure.texture.known_texture import DirectionTransfer
from dotloupe.measure.uncertainty import Uncertainty, normal_uncertainty
from dotloupe.units import MM_PER_INCH

COARSE_RINGS = 5
LEAST_COHERENCE = 0.02


@dataclass(frozen=True)
class HalfResponse:
    """Frequency at which a transfer is half of what it is for coarse detail.

    Attributes
    ----------
    frequency : float
        Cycles/mm; the last one with enough coherence where the transfer stays above half up to it.
    interval : (float, float)
        Its 95 % interval; open upward where the transfer may stay above half.
    """

    frequency: float
    interval: Interval

    @property
    def uncertainty(self) -> Uncertainty | None:
        """The normal error of an interval as long as this one; None where it is open."""
        return normal_uncertainty(self.interval)


def half_response(direction: DirectionTransfer) -> HalfResponse | None:
    """Frequency at which |H| is half of its value at zero frequency, with its 95 % interval.

    Noise takes nothing from |H|, and what a picture holds little sways it, so that unlike the
    frequency up to which detail is kept it may be compared between pictures.

    Parameters
    ----------
    direction : DirectionTransfer

    Returns
    -------
    HalfResponse or None
        None where the picture holds too little to say.

    Notes
    -----
    The value at zero frequency is that of a Gaussian through the lowest rings.
    """
    f, gain = direction.frequency, direction.transfer
    if len(f) < COARSE_RINGS:
        return None
    whole = _at_zero(f[:COARSE_RINGS], gain[:COARSE_RINGS])
    held = direction.coherence > LEAST_COHERENCE
    last = len(f) if held.all() else int(np.argmin(held))
    if last < 2:
        return None
    relative = [
        curve[:last] / whole for curve in (gain, direction.transfer_low, direction.transfer_high)
    ]
    value, low, high = (_first_below_half(f[:last], curve) for curve in relative)
    end = float(f[last - 1])
    return HalfResponse(value or end, (low or end, high or float("inf")))


def as_sent(direction: DirectionTransfer, sent_ppi: float | None) -> DirectionTransfer:
    """Transfer against a file's pixels, of one found against a drawing without pixels.

    The pixels of the file are means over their areas, which took sinc(frequency / ppi).
    """
    if sent_ppi is None:
        return direction
    f = direction.frequency
    inside = f < sent_ppi / MM_PER_INCH / 2
    drawn = np.sinc(np.minimum(f * MM_PER_INCH / sent_ppi, 0.5))
    return replace(
        direction,
        transfer=direction.transfer / drawn,
        transfer_low=direction.transfer_low / drawn,
        transfer_high=direction.transfer_high / drawn,
        coherence=np.where(inside, direction.coherence, 0.0),
    )


def _at_zero(f: FloatArray, gain: FloatArray) -> float:
    """Value at zero frequency of a Gaussian through a few points."""
    slope, log_whole = np.polyfit(f**2, np.log(gain), 1)
    return float(np.exp(log_whole if slope < 0 else np.log(gain).mean()))


def _first_below_half(f: FloatArray, curve: FloatArray) -> float | None:
    """Where a curve first falls below a half and stays so for two rings; None where it does not."""
    crossing = falls_below(f, np.log(np.maximum(curve, 1e-6)), np.log(0.5), samples=2)
    return None if np.isnan(crossing) else float(crossing)
