"""One grating of a patch: its mirror images together, in register, with the grain's error."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.measure.contrast.detection import stands_out
from dotloupe.measure.uncertainty import Uncertainty

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray
    from dotloupe.measure.contrast.grating_fit import GrainPower, GratingFit

MOST_SHIFT_MM = 0.012
"""How far a field may lie from where it was drawn; the registration of a patch is far better."""
SHIFT_STEPS = 97
SHIFT_UP_TO = 4.5
"""lp/mm up to which gratings tell of a shift: finer ones beat with coarse rasters, which print them
out of place."""
LEAST_ERROR = 1e-7
"""Standard deviation, in reflectance, that a picture without any noise counts as having."""
KEPT = 0.1
"""Share of the modulation sent that must be printed, as of bars: where there is hardly any grain,
traces stand out of it that no eye sees."""


@dataclass(frozen=True)
class Grating:
    """What is printed of one grating.

    Attributes
    ----------
    frequency : float
        lp/mm.
    modulation : float
        As sent.
    sent, amplitude : float
        Linear reflectance: as sent, and as printed in phase with it; the camera is in it.
    uncertainty : Uncertainty
        Of the amplitude, by the grain of plain tint.
    phase_deg : float
        Of what is printed against what was sent, after the shift of its field was taken out.
    mean, plain : float
        Mean reflectance of the grating, and of the plain tint that it swings about.
    carried : bool
        Whether the file that was sent can hold its frequency.
    """

    frequency: float
    modulation: float
    sent: float
    amplitude: float
    uncertainty: Uncertainty
    phase_deg: float
    mean: float
    plain: float
    carried: bool = True

    @property
    def response(self) -> float:
        """Amplitude printed over amplitude sent."""
        return self.amplitude / self.sent

    @property
    def response_interval(self) -> tuple[float, float]:
        """Its 95 % interval."""
        half = self.uncertainty.half_width / self.sent
        return self.response - half, self.response + half

    @property
    def index(self) -> float:
        """Amplitude over the standard deviation that grain gives it."""
        return self.amplitude / self.uncertainty.standard_error

    @property
    def stands_out(self) -> bool:
        """Whether it stands out of the grain, at the rate of false finds of `FALSE_RATE`."""
        error = self.uncertainty
        return self.carried and stands_out(self.amplitude, error.standard_error, error.degrees)

    @property
    def survives(self) -> bool:
        """Whether it stands out of the grain and keeps a tenth of its modulation."""
        return self.stands_out and self.response > KEPT


def field_shift_mm(fits: Sequence[GratingFit], frequencies: FloatArray, sent: FloatArray) -> float:
    """How far gratings lie along their axis from where they were drawn, by all of a field together.

    The shift at which the amplitudes in phase of the coarser ones, weighted by those sent, add up
    to most.

    Parameters
    ----------
    fits : sequence of GratingFit
    frequencies, sent : ndarray of shape (n,)
        Cycles/mm, and amplitudes sent.
    """
    shifts = np.linspace(-MOST_SHIFT_MM, MOST_SHIFT_MM, SHIFT_STEPS)
    turns = 2 * np.pi * np.outer(shifts, frequencies)
    in_phase = np.array([f.in_phase for f in fits])
    quadrature = np.array([f.quadrature for f in fits])
    weight = np.where(frequencies <= SHIFT_UP_TO, sent, 0.0)
    sums = (in_phase * np.cos(turns) - quadrature * np.sin(turns)) @ weight
    best = int(np.argmax(sums))
    if 0 < best < len(shifts) - 1:
        before, at, after = sums[best - 1 : best + 2]
        bend = before - 2 * at + after
        return float(shifts[best] + (before - after) / (2 * bend) * (shifts[1] - shifts[0]))
    return float(shifts[best])


def one_grating(
    fits: Sequence[GratingFit],
    shifts_mm: Sequence[float],
    grain: GrainPower,
    *,
    frequency: float,
    modulation: float,
    sent: float,
    plain: float,
    carried: bool = True,
) -> Grating:
    """Take the mirror images of a grating together.

    Parameters
    ----------
    fits : sequence of GratingFit
        One of each image.
    shifts_mm : sequence of float
        Of the field that each lies in.
    grain : GrainPower
        Of plain tint at this frequency and direction.
    frequency, modulation, sent, plain, carried
        As of `Grating`.
    """
    turns = [2 * math.pi * frequency * shift for shift in shifts_mm]
    pairs = list(zip(fits, turns, strict=True))
    in_phase = [f.in_phase * math.cos(t) - f.quadrature * math.sin(t) for f, t in pairs]
    across = [f.in_phase * math.sin(t) + f.quadrature * math.cos(t) for f, t in pairs]
    variance = grain.variance * float(np.sum([f.in_phase_gain for f in fits])) / len(fits) ** 2
    return Grating(
        frequency=frequency,
        modulation=modulation,
        sent=sent,
        amplitude=float(np.mean(in_phase)),
        uncertainty=Uncertainty(max(math.sqrt(variance), LEAST_ERROR), grain.degrees),
        phase_deg=math.degrees(math.atan2(float(np.mean(across)), float(np.mean(in_phase)))),
        mean=float(np.mean([f.mean for f in fits])),
        plain=plain,
        carried=carried,
    )
