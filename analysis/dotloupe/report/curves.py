"""Curves of a setting: the mean over its prints with a 95 % band, ready to be drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.arrays import FloatArray

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement
    from dotloupe.report.settings import Setting

POINTS = 401


@dataclass(frozen=True)
class Curve:
    """A mean over prints.

    Attributes
    ----------
    x, value, low, high : ndarray, shape (n,)
        Where, the mean over prints and its pointwise 95 % interval.
    prints : int
    """

    x: FloatArray
    value: FloatArray
    low: FloatArray
    high: FloatArray
    prints: int


Read = Callable[["Measurement"], Curve | None]
"""Takes the curve of one photograph out of its measurement."""


def mean_curve(setting: Setting, read: Read, x: FloatArray | None = None) -> Curve | None:
    """Mean of the curves of a setting's prints; None where none has one.

    The photographs of a print are averaged first. From two prints on the band is Student's for
    their mean; one print has the band that its photographs give.

    Parameters
    ----------
    setting : Setting
    read : callable
        Measurement to its curve, or None.
    x : ndarray, optional
        Where to draw; else evenly as far as all curves reach.
    """
    by_print = [
        [c for m in shots if (c := read(m)) is not None] for shots in setting.prints().values()
    ]
    by_print = [curves for curves in by_print if curves]
    if not by_print:
        return None
    every = [c for curves in by_print for c in curves]
    if x is None:
        x = np.linspace(
            max(float(c.x[0]) for c in every), min(float(c.x[-1]) for c in every), POINTS
        )
    on_x = [
        np.mean([[np.interp(x, c.x, y) for y in (c.value, c.low, c.high)] for c in curves], axis=0)
        for curves in by_print
    ]
    value, low, high = np.mean(on_x, axis=0)
    if len(on_x) > 1:
        half = _student(len(on_x)) * np.std([v for v, _, _ in on_x], axis=0, ddof=1)
        low, high = value - half, value + half
    return Curve(x, value, low, high, len(on_x))


def detail_curve(name: str) -> Read:
    """Read the MTF of one direction and tone, `detail_x` for example."""

    def read(m: Measurement) -> Curve | None:
        found = m.details.get("directions", {}).get(name)
        if found is None:
            return None
        known = np.isfinite(found.mtf)
        parts = (found.frequency, found.mtf, found.mtf_low, found.mtf_high)
        x, value, low, high = (np.asarray(part)[known] for part in parts)
        return Curve(x, value, low, high, prints=1)

    return read


def bars_curve(axis: str) -> Read:
    """Read the contrast of the bar groups of one direction against their frequency."""

    def read(m: Measurement) -> Curve | None:
        found = m.details.get("limits", {}).get(axis)
        if found is None:
            return None
        return Curve(
            found.frequency, found.contrast, found.contrast_low, found.contrast_high, prints=1
        )

    return read


def noise_curve(tint: str) -> Read:
    """Read the noise power of one tint in lightness, L*^2 mm^2."""

    def read(m: Measurement) -> Curve | None:
        found = m.details.get("tints", {}).get(tint)
        if found is None:
            return None
        seen = (found.frequency > 0) & (found.frequency <= found.trusted_to)
        scale = found.lightness_noise_power[seen] / np.maximum(found.noise_power[seen], 1e-300)
        return Curve(
            found.frequency[seen],
            found.lightness_noise_power[seen],
            found.noise_power_low[seen] * scale,
            found.noise_power_high[seen] * scale,
            prints=1,
        )

    return read


@dataclass(frozen=True)
class TintGrain:
    """Visible grain of one tint, the mean over a setting's prints."""

    tint: str
    mean_lightness: float
    value: float
    low: float
    high: float
    prints: int


def tint_grain(setting: Setting) -> tuple[TintGrain, ...]:
    """Visible grain of every tint of a setting, from light to dark."""
    found = []
    for tint in tints_of([setting]):
        by_print = [
            np.mean([_seen(m.details["tints"][tint]) for m in shots], axis=0)
            for kept in setting.prints().values()
            if (shots := [m for m in kept if tint in m.details.get("tints", {})])
        ]
        lightness, value, low, high = np.mean(by_print, axis=0)
        if len(by_print) > 1:
            half = _student(len(by_print)) * np.std([v[1] for v in by_print], ddof=1)
            low, high = value - half, value + half
        found.append(
            TintGrain(
                tint,
                float(lightness),
                float(value),
                max(float(low), 0.0),
                float(high),
                len(by_print),
            )
        )
    return tuple(sorted(found, key=lambda t: -t.mean_lightness))


def tints_of(settings: Iterable[Setting]) -> tuple[str, ...]:
    """Names of the tints that any of the settings has, in the order of the patch."""
    names: dict[str, None] = {}
    for setting in settings:
        for m in setting.measurements:
            names |= dict.fromkeys(m.details.get("tints", {}))
    return tuple(names)


def middle_tint(settings: Iterable[Setting]) -> str | None:
    """Name of the neutral tint nearest to mid-grey that is there, None without tints."""
    lightness: Mapping[str, Any] = {
        name: tint.mean_lightness
        for s in settings
        for m in s.measurements
        for name, tint in m.details.get("tints", {}).items()
    }
    grey = {n: v for n, v in lightness.items() if "grey" in n} or lightness
    return min(grey, key=lambda n: abs(grey[n] - 65.0), default=None)


def _seen(tint: Any) -> tuple[float, float, float, float]:
    return (tint.mean_lightness, tint.visual_graininess, *tint.visual_graininess_interval)


def _student(prints: int) -> float:
    """Half-width of a 95 % interval of a mean in standard deviations of a print."""
    from scipy.special import stdtrit

    return float(stdtrit(prints - 1, 0.975)) / np.sqrt(prints)
