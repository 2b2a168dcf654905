"""All gratings of one tone, or one ink, and direction: what survives of them, and what is seen."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from dotloupe.measure.contrast.eye import least_modulation_seen
from dotloupe.measure.contrast.surviving import Survival, survival
from dotloupe.measure.seeing import lightness
from dotloupe.measure.uncertainty import Uncertainty

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.measure.contrast.grating import Grating

FAINT_MODULATION = 0.1
"""Of what is called faint detail: grass, cloth, a fence far off."""
FEWEST_MEANS = 3
"""Faint gratings that say how means scatter."""
STRONGEST_OF_EYE = 0.25
"""Modulation up to which the response counts as that of the faintest detail an eye sees."""


@dataclass(frozen=True)
class SeenContrast:
    """The least contrast sent that a keen eye sees on the print, at one frequency.

    Attributes
    ----------
    frequency : float
        lp/mm.
    modulation : float
        As sent; infinite where the print keeps nothing.
    uncertainty : Uncertainty or None
        None where it is infinite.
    """

    frequency: float
    modulation: float
    uncertainty: Uncertainty | None


@dataclass(frozen=True)
class ToneShift:
    """Mean lightness of the strongest gratings less that of the faint ones and the plain tint.

    Attributes
    ----------
    value : float
        In L*. A halftone and its tone curve shift the mean of what swings widely.
    uncertainty : Uncertainty
    """

    value: float
    uncertainty: Uncertainty


@dataclass(frozen=True)
class ContrastMap:
    """Gratings of one tone or ink, along one axis.

    Attributes
    ----------
    tone : str
        What the gratings swing about.
    ink : str
        Of colour gratings, the ink set against the other two; empty for greys.
    axis : {"x", "y"}
    gratings : tuple of Grating
        By modulation and frequency.
    survivals : tuple of Survival
        One for each modulation.
    seen : tuple of SeenContrast
        One for each frequency of greys; empty for colours.
    tone_shift : ToneShift or None
        Of greys; None where too few gratings are in sight.
    """

    tone: str
    ink: str
    axis: Literal["x", "y"]
    gratings: tuple[Grating, ...]
    survivals: tuple[Survival, ...]
    seen: tuple[SeenContrast, ...]
    tone_shift: ToneShift | None

    def survival_of(self, modulation: float) -> Survival | None:
        """Border of the gratings of one modulation; None where none was in sight."""
        return next((s for s in self.survivals if s.modulation == modulation), None)


def contrast_map(
    gratings: Sequence[Grating],
    *,
    tone: str,
    axis: Literal["x", "y"],
    ink: str = "",
    grain_power_mm2: Mapping[float, float],
    nyquist: float | None,
    viewing_distance_mm: float,
) -> ContrastMap:
    """Take the gratings of one tone or ink and direction together.

    Parameters
    ----------
    gratings : sequence of Grating
    tone, axis, ink
        As of `ContrastMap`.
    grain_power_mm2 : mapping of float to float
        Power of the plain tint's grain at each frequency, in squared reflectance times mm^2.
    nyquist : float or None
        Of the file that was sent, lp/mm.
    viewing_distance_mm : float
    """
    ordered = tuple(sorted(gratings, key=lambda g: (g.modulation, g.frequency)))
    modulations = sorted({g.modulation for g in ordered})
    return ContrastMap(
        tone=tone,
        ink=ink,
        axis=axis,
        gratings=ordered,
        survivals=tuple(
            survival([g for g in ordered if g.modulation == m], nyquist=nyquist)
            for m in modulations
        ),
        seen=() if ink else _seen(ordered, grain_power_mm2, viewing_distance_mm),
        tone_shift=None if ink else _tone_shift(ordered),
    )


def _seen(
    gratings: Sequence[Grating], power_mm2: Mapping[float, float], distance_mm: float
) -> tuple[SeenContrast, ...]:
    plain = gratings[0].plain
    found = []
    for frequency in sorted({g.frequency for g in gratings}):
        faint = [
            g
            for g in gratings
            if g.frequency == frequency and g.modulation <= STRONGEST_OF_EYE and g.carried
        ]
        on_print = least_modulation_seen(
            np.array([frequency]),
            mean_reflectance=plain,
            grain_power_mm2=np.array([power_mm2[frequency] / plain**2]),
            viewing_distance_mm=distance_mm,
        )
        found.append(_as_sent(frequency, float(on_print[0]), faint, plain))
    return tuple(found)


def _as_sent(
    frequency: float, on_print: float, faint: Sequence[Grating], plain: float
) -> SeenContrast:
    """Modulation to send for one on the print, by the response of faint gratings together."""
    weight = sum(g.modulation**2 for g in faint)
    kept = sum(g.amplitude / plain * g.modulation for g in faint) / weight if faint else 0.0
    if kept <= 0:
        return SeenContrast(frequency, math.inf, None)
    squares = sum((g.uncertainty.standard_error / plain * g.modulation) ** 2 for g in faint)
    error = math.sqrt(squares) / weight
    degrees = faint[0].uncertainty.degrees
    modulation = on_print / kept
    return SeenContrast(frequency, modulation, Uncertainty(modulation * error / kept, degrees))


def _tone_shift(gratings: Sequence[Grating]) -> ToneShift | None:
    """Difference of mean lightness, its error by how the means of faint gratings scatter."""
    strongest = max(g.modulation for g in gratings)
    strong = lightness([g.mean for g in gratings if g.modulation == strongest])
    means = [g.mean for g in gratings if g.modulation <= FAINT_MODULATION]
    if strongest <= FAINT_MODULATION or len(means) < FEWEST_MEANS:
        return None
    faint = lightness([gratings[0].plain, *means])
    error = float(np.std(faint, ddof=1)) * math.sqrt(1 / len(strong) + 1 / len(faint))
    shift = float(np.mean(strong) - np.mean(faint))
    return ToneShift(shift, Uncertainty(error, len(faint) - 1))
