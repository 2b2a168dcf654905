"""Criteria in just visible steps: the one scale behind "overall" and behind how far it is seen.

A step of a criterion at a viewing distance is the change of its number that a keen eye just tells
from that distance. All settings of a ranking are put on one scale: the mean shape of their measured
curves, made sharper or softer, grainier or smoother, as each print's number says.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.visibility.eye_model import (
    FREQUENCIES,
    contrast_steps,
    edge_thresholds,
    gaussian_mtf,
    grain_thresholds,
    octave_rms,
)
from dotloupe.measure import dooley_shaw_transfer, falls_below, last_above, lightness_slope
from dotloupe.measure.bars import RESOLVED_CONTRAST

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from dotloupe.arrays import FloatArray
    from dotloupe.measurement import Measurement

NEAREST_MM, FARTHEST_MM = 100.0, 20_000.0
DISTANCES = 90

DETAIL_OF = {"line_pairs_x": "detail_x", "line_pairs_y": "detail_y"}
"""Finer bars resolved are taken as a response wider by the same share."""

MID_TINT = 0.2
"""Reflectance of the tint that a figure for grain without its spectrum is taken to be of."""

BARS_OF_MTF50 = sqrt(log2(4 / (pi * RESOLVED_CONTRAST)))
"""Frequency of bars left with just the contrast that counts as resolved over MTF50, of a Gaussian
blur: there 4/pi times 2^-(r^2) is that contrast (Coltman 1954, the fundamental alone).
"""

_RATIOS: FloatArray = np.geomspace(1 / 32, 32, 201)


@dataclass(frozen=True)
class VisibleScale:
    """Just visible steps of one criterion.

    Attributes
    ----------
    criterion : str
    distances_mm : ndarray (n,)
        Rising, the viewing distance among them.
    viewing : int
        Its place there.
    values : ndarray (m,)
        Of the criterion, rising.
    steps : ndarray (n, m)
        Steps up to a constant; more is better, and values a step apart are just told apart.
    """

    criterion: str
    distances_mm: FloatArray
    viewing: int
    values: FloatArray
    steps: FloatArray

    def curve(self, value: float) -> FloatArray:
        """Steps of a value at every distance."""
        logs = np.log(self.values)
        at = float(np.clip(np.log(max(value, self.values[0])), logs[0], logs[-1]))
        i = min(int(np.searchsorted(logs, at, side="right")) - 1, len(logs) - 2)
        share = (at - logs[i]) / (logs[i + 1] - logs[i])
        return (1 - share) * self.steps[:, i] + share * self.steps[:, i + 1]

    def at_viewing(self, value: float) -> float:
        """Steps of a value at the viewing distance."""
        return float(self.curve(value)[self.viewing])

    def reach_mm(self, apart: FloatArray) -> float:
        """Distance up to which steps that lie so far `apart` are told apart.

        Beyond the viewing distance where they are told apart there, nearer to it where they are
        not, 0 where from nowhere near.
        """
        distances, at = self.distances_mm, self.viewing
        if np.all(apart[at:] >= 1):
            return float(distances[-1])
        if apart[at] >= 1:
            return float(falls_below(distances[at:], apart[at:], 1.0, geometric=True))
        nearer = last_above(distances[: at + 1], apart[: at + 1], 1.0, geometric=True)
        return 0.0 if np.isnan(nearer) else nearer


def visible_scales(
    settings: Mapping[str, Sequence[Measurement]], viewing_distance_mm: float
) -> dict[str, VisibleScale]:
    """Scales of every criterion that the settings' measurements hold.

    Which setting is which plays no part, so that the scale favours none.
    """
    # sums in one order, whatever that of the settings, are the same to the last bit
    shots = sorted((m for group in settings.values() for m in group), key=lambda m: m.sha256)
    grid = np.geomspace(NEAREST_MM, FARTHEST_MM, DISTANCES)
    distances = np.unique(np.append(grid, viewing_distance_mm))
    viewing = int(np.searchsorted(distances, viewing_distance_mm))

    def scale(criterion: str, reference: float, steps: FloatArray) -> VisibleScale:
        return VisibleScale(criterion, distances, viewing, reference * _RATIOS, steps)

    scales = {}
    edges = [c for c in ("detail_x", "detail_y") if _middle(shots, c) is not None]
    for criterion in edges or ("response_x", "response_y"):
        middle = _middle(shots, criterion)
        if middle is not None:
            steps = _edge_steps(*_mean_response(shots, criterion, middle), distances)
            scales[criterion] = scale(criterion, middle, steps)
    for criterion, detail in DETAIL_OF.items():
        middle = _middle(shots, criterion)
        if middle is not None and detail in scales:
            scales[criterion] = scale(criterion, middle, scales[detail].steps)
        elif middle is not None:
            steps = _edge_steps(FREQUENCIES, gaussian_mtf(middle / BARS_OF_MTF50), distances)
            scales[criterion] = scale(criterion, middle, steps)
    middle = _middle(shots, "grain")
    if middle is not None:
        most = _clearest_grain(shots, viewing_distance_mm, distances)
        scales["grain"] = scale("grain", middle, -contrast_steps(most[:, None] * _RATIOS))
    return scales


def _middle(shots: Iterable[Measurement], criterion: str) -> float | None:
    """Root mean square of a criterion over the photographs; None where it is nowhere."""
    values = np.array([m.numbers[criterion].value for m in shots if criterion in m.numbers])
    values = values[np.isfinite(values) & (values > 0)]
    return float(np.sqrt(np.mean(values**2))) if values.size else None


def _edge_steps(frequency: FloatArray, mtf: FloatArray, distances_mm: FloatArray) -> FloatArray:
    """Steps of a response made wider by each of `_RATIOS`, from the clearest channel on the way."""
    stretched = np.array([np.interp(FREQUENCIES / r, frequency, mtf, right=0.0) for r in _RATIOS])
    rows = []
    for sharp in edge_thresholds(distances_mm):
        seen = contrast_steps(np.maximum(stretched, 0) * sharp)
        rows.append(np.concatenate([[0.0], np.cumsum(np.max(np.diff(seen, axis=0), axis=1))]))
    return np.array(rows)


def _mean_response(
    shots: Iterable[Measurement], criterion: str, mtf50: float
) -> tuple[FloatArray, FloatArray]:
    """Mean of the measured responses, each stretched to one MTF50; a Gaussian without any."""
    curves = []
    for m in shots:
        measured = m.directions.get(criterion)
        if measured is None or criterion not in m.numbers:
            continue
        stretch = m.numbers[criterion].value / mtf50
        known = np.isfinite(measured.mtf)
        at, mtf = np.asarray(measured.frequency)[known], np.asarray(measured.mtf)[known]
        curves.append(np.interp(FREQUENCIES * stretch, at, mtf, right=0.0))
    return FREQUENCIES, np.mean(curves, axis=0) if curves else gaussian_mtf(mtf50)


def _clearest_grain(
    shots: Sequence[Measurement], viewing_distance_mm: float, distances_mm: FloatArray
) -> FloatArray:
    """Thresholds of the mean grain in the clearest channel of the clearest tint, by distance."""
    spectra = [m.tints for m in shots]
    common = set.intersection(*map(set, spectra)) if spectra else set()
    if not common:
        rms = _even_noise(shots, viewing_distance_mm)
        return np.max(grain_thresholds(rms, MID_TINT, distances_mm), axis=1)
    clearest = []
    for name in sorted(common):
        tints = [s[name] for s in spectra]
        squares = [
            octave_rms(g.frequency, g.noise_power / g.mean_reflectance**2) ** 2 for g in tints
        ]
        level = float(np.mean([g.mean_reflectance for g in tints]))
        thresholds = grain_thresholds(np.sqrt(np.mean(squares, axis=0)), level, distances_mm)
        clearest.append(np.max(thresholds, axis=1))
    return np.max(clearest, axis=0)


def _even_noise(shots: Sequence[Measurement], distance_mm: float) -> FloatArray:
    """Relative rms in each octave of white noise that has the visible grain of the figure."""
    visible = np.array([m.numbers["grain"].value for m in shots if "grain" in m.numbers])
    at_eye = np.linspace(0, 60, 1201)
    seen_share = np.trapezoid(at_eye * dooley_shaw_transfer(at_eye) ** 2, at_eye)
    # visible grain squared = power * 2 pi * integral of f VTF^2 df, f in cycles/mm
    power = np.mean(visible**2) * (distance_mm * pi / 180) ** 2 / (2 * pi * seen_share)
    relative = power / (float(lightness_slope(MID_TINT)) * MID_TINT) ** 2
    return octave_rms(FREQUENCIES, np.full_like(FREQUENCIES, relative))
