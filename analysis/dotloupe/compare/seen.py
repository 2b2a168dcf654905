"""Whether an eye can tell two settings apart, and from how far."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.compare.eye import (
    DISTANCES_MM,
    FREQUENCIES,
    edge_strength,
    farthest_mm,
    gaussian_mtf,
    grain_strength,
    octave_rms,
)
from dotloupe.compare.plain import plain
from dotloupe.errors import InputError
from dotloupe.measure.seeing import dooley_shaw_transfer, lightness_slope
from dotloupe.measurement import CRITERIA

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.compare.pairs import PairDifference
    from dotloupe.compare.rank import Ranking
    from dotloupe.measurement import Measurement

NEAR_POINT_MM = 250.0
"""Distance of clear seeing that magnifiers are rated for."""

DETAIL = ("detail_x", "detail_y")
MID_TINT = 0.2
"""Reflectance of the tint that a figure for grain without its spectrum is taken to be of."""

LIMITS = (
    "a model of a keen eye in good light with both prints side by side, after Barten's contrast "
    "sensitivity; it is not a jury of people"
)


@dataclass(frozen=True)
class SeenBy:
    """What one criterion alone lets an eye tell apart.

    Attributes
    ----------
    criterion : str
        Its name.
    distance_mm : float
        Largest distance at which the difference measured could be seen; 0 for none, and never
        beyond 20 m.
    interval : tuple of float
        The same at both ends of the difference's interval; 0 at the lower end where the prints do
        not tell the settings apart.
    """

    criterion: str
    distance_mm: float
    interval: Interval


@dataclass(frozen=True)
class Seen:
    """From how far two settings could be told apart by eye.

    Attributes
    ----------
    setting, other : str
        The two.
    distance_mm : float
        Largest distance over all criteria.
    interval : tuple of float
        Its interval.
    by : tuple of SeenBy
        Each criterion alone, the farthest first.
    sentence : str
        The result in words.
    limits : str
        What it rests on.
    """

    setting: str
    other: str
    distance_mm: float
    interval: Interval
    by: tuple[SeenBy, ...]
    sentence: str
    limits: str

    def to_dict(self) -> dict[str, Any]:
        """Everything, ready for JSON."""
        result: dict[str, Any] = plain(self)
        return result


def seen(ranking: Ranking, setting: str, other: str) -> Seen:
    """From how far two settings of a ranking could be told apart by their detail and grain.

    Parameters
    ----------
    ranking : Ranking
    setting, other : str
        Two of its settings.

    Returns
    -------
    Seen

    Raises
    ------
    InputError
        No such setting, or no detail and no grain that both have.

    Notes
    -----
    The measured transfer of the edges and the noise power of the tints are used where the
    measurements hold them; else the Gaussian blur of the same MTF50, and even noise of the same
    visible grain on a mid tint.
    """
    for name in (setting, other):
        if name not in ranking.measurements:
            raise InputError(f"setting {name}: not ranked, choose of {', '.join(ranking.settings)}")
    if setting == other:
        raise InputError(f"setting {setting}: give another one to compare it with")
    found = []
    for criterion in (*DETAIL, "grain"):
        pair = _pair(ranking.criteria[criterion].pairs, setting, other)
        if pair is not None:
            shots = (ranking.measurements[pair.setting], ranking.measurements[pair.other])
            strength = (
                _grain_strength(*shots, ranking) if criterion == "grain" else
                _detail_strength(criterion, *shots)
            )  # fmt: skip
            found.append(_seen_by(criterion, pair, strength))
    if not found:
        raise InputError(f"settings {setting} and {other}: no detail and no grain that both have")
    by = tuple(sorted(found, key=lambda s: -s.distance_mm))
    interval = (max(s.interval[0] for s in by), max(s.interval[1] for s in by))
    sentence = _sentence(setting, other, by, interval)
    return Seen(setting, other, by[0].distance_mm, interval, by, sentence, LIMITS)


def _pair(pairs: Sequence[PairDifference], setting: str, other: str) -> PairDifference | None:
    return next((p for p in pairs if {p.setting, p.other} == {setting, other}), None)


def _seen_by(criterion: str, pair: PairDifference, strength: FloatArray) -> SeenBy:
    """Distances for the difference seen and for both ends of its interval."""
    if pair.difference == 0 or pair.low is None or pair.high is None:
        return SeenBy(criterion, farthest_mm(strength), (0.0, float(DISTANCES_MM[-1])))
    ends = sorted((pair.low / pair.difference, pair.high / pair.difference))
    low, high = (farthest_mm(max(end, 0.0) * strength) for end in ends)
    return SeenBy(criterion, farthest_mm(strength), (low, high))


def _detail_strength(
    criterion: str, first: Sequence[Measurement], second: Sequence[Measurement]
) -> FloatArray:
    return edge_strength(_mean_mtf(criterion, first), _mean_mtf(criterion, second))


def _mean_mtf(criterion: str, shots: Sequence[Measurement]) -> FloatArray:
    curves = []
    for m in shots:
        measured = m.details.get("directions", {}).get(criterion)
        if measured is not None:
            curves.append(np.interp(FREQUENCIES, measured.frequency, measured.mtf, right=0.0))
        elif criterion in m.numbers:
            curves.append(gaussian_mtf(m.numbers[criterion].value))
    return np.mean(curves, axis=0)


def _grain_strength(
    first: Sequence[Measurement], second: Sequence[Measurement], ranking: Ranking
) -> FloatArray:
    """Clearest of the tints that every photograph of both settings has."""
    tints = [set(m.details.get("tints", {})) for m in (*first, *second)]
    common = set.intersection(*tints)
    if not common:
        distance = float(ranking.parameters["viewing_distance_mm"])
        curves = [_even_noise(shots, distance) for shots in (first, second)]
        return grain_strength(curves[0], curves[1], MID_TINT)
    strengths = []
    for name in sorted(common):
        curves = [_tint_noise(shots, name) for shots in (first, second)]
        level = float(
            np.mean([m.details["tints"][name].mean_reflectance for m in (*first, *second)])
        )
        strengths.append(grain_strength(curves[0], curves[1], level))
    return np.max(strengths, axis=0)


def _tint_noise(shots: Sequence[Measurement], name: str) -> FloatArray:
    """Relative rms in each octave, root of the mean square over the photographs."""
    grains = [m.details["tints"][name] for m in shots]
    squares = [octave_rms(g.frequency, g.noise_power / g.mean_reflectance**2) ** 2 for g in grains]
    return np.sqrt(np.mean(squares, axis=0))


def _even_noise(shots: Sequence[Measurement], distance_mm: float) -> FloatArray:
    """Relative rms in each octave of white noise that has the visible grain of the figure."""
    visible = np.array([m.numbers["grain"].value for m in shots if "grain" in m.numbers])
    at_eye = np.linspace(0, 60, 1201)
    seen_share = np.trapezoid(at_eye * dooley_shaw_transfer(at_eye) ** 2, at_eye)
    # visible grain squared = power * 2 pi * integral of f VTF^2 df, f in cycles/mm
    power = np.mean(visible**2) * (distance_mm * pi / 180) ** 2 / (2 * pi * seen_share)
    relative = power / (float(lightness_slope(MID_TINT)) * MID_TINT) ** 2
    return octave_rms(FREQUENCIES, np.full_like(FREQUENCIES, relative))


def _sentence(setting: str, other: str, by: Sequence[SeenBy], interval: Interval) -> str:
    pair = f"{setting} and {other}"
    low, high = interval
    if high < NEAR_POINT_MM:
        return f"{pair} cannot be told apart without a magnifier."
    if low == 0:
        return (
            f"these prints do not tell {pair} apart; a difference as large as they leave open "
            f"could be seen from {_far(high)} at most."
        )
    what = CRITERIA[by[0].criterion].title.split(" (")[0].lower()
    distance = by[0].distance_mm
    if distance < NEAR_POINT_MM:
        return (
            f"{pair} can hardly be told apart without a magnifier; a keen eye might from up to "
            f"{_far(high)}, by their {what}."
        )
    return (
        f"a keen eye could tell {pair} apart from up to {_far(distance)} "
        f"({_far(low)} to {_far(high)}), by their {what}."
    )


def _far(distance_mm: float) -> str:
    if distance_mm >= DISTANCES_MM[-1]:
        return f"{distance_mm / 1000:.0f} m and more"
    if distance_mm >= 1000:
        return f"{distance_mm / 1000:.1f} m"
    return f"{distance_mm / 10:.0f} cm"
