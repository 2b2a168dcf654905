"""Curves of a setting: the mean over its prints with a 95 % band, ready to be drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure import Reading, ReadingName, bars_reading, edges_reading, texture_reading
from dotloupe.measurement import Measurement, PatchMeasurement, measurands
from dotloupe.number import Quantity, reflected_percent

if TYPE_CHECKING:
    from dotloupe.measure.bars import ResolvedLimit
    from dotloupe.report.model import Setting

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


def mean_curve(
    setting: Setting, read: Read, x: FloatArray | None = None, *, of_logs: bool = False
) -> Curve | None:
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
    of_logs : bool
        Average and spread the logarithms, for powers that vary by a factor.
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
    there = np.asarray(x)
    on_x = [
        np.mean([_on(there, c, of_logs=of_logs) for c in curves], axis=0) for curves in by_print
    ]
    value, low, high = _over_prints(np.array(on_x))
    if of_logs:
        value, low, high = np.exp(value), np.exp(low), np.exp(high)
    return Curve(there, value, low, high, len(on_x))


def mean_curves(
    settings: Iterable[Setting], read: Read, *, of_logs: bool = False
) -> list[tuple[Setting, Curve]]:
    """Return the mean curve of every setting that has one, as `mean_curve`."""
    found = ((s, mean_curve(s, read, of_logs=of_logs)) for s in settings)
    return [(s, curve) for s, curve in found if curve is not None]


@dataclass(frozen=True)
class Mean:
    """One number, the mean over prints, with its 95 % interval."""

    value: float
    low: float
    high: float
    prints: int


def mean_number(
    setting: Setting, read: Callable[[Measurement], Sequence[float] | None]
) -> Mean | None:
    """Mean of a number over a setting's prints, as `mean_curve`.

    Parameters
    ----------
    setting : Setting
    read : callable
        Measurement to value, lower and upper end, or None.
    """
    by_print = [
        np.mean(found, axis=0)
        for shots in setting.prints().values()
        if (found := [n for m in shots if (n := read(m)) is not None])
    ]
    if not by_print:
        return None
    value, low, high = _over_prints(np.array(by_print))
    return Mean(float(value), float(low), float(high), len(by_print))


def number(name: str) -> Callable[[Measurement], Sequence[float] | None]:
    """Read one of a measurement's numbers."""

    def read(m: Measurement) -> Sequence[float] | None:
        found = m.numbers.get(name)
        return None if found is None else (found.value, found.low, found.high)

    return read


def detail_curve(name: str) -> Read:
    """Read the MTF of one direction and tone, `detail_x` for example."""

    def read(m: Measurement) -> Curve | None:
        found = m.directions.get(name)
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
        found = limit_of(m, axis)
        if found is None:
            return None
        return Curve(
            found.frequency, found.contrast, found.contrast_low, found.contrast_high, prints=1
        )

    return read


def _reading_curve(reading: ReadingName, axis: str) -> Read:
    """Read the modulation kept along one axis by edges, bars or texture, the camera treated alike.

    Of readings that several photographs give, the mean is drawn as far as all of them reach.
    """

    def read(m: Measurement) -> Curve | None:
        found = _reading(m, reading, axis)
        if found is None or found.frequency.size < 2:
            return None
        return Curve(found.frequency, found.modulation, found.low, found.high, prints=1)

    return read


def mean_reading(setting: Setting, reading: ReadingName, axis: str) -> Curve | None:
    """Mean of a reading over prints; of bars, at the groups that all photographs resolve."""
    read = _reading_curve(reading, axis)
    groups = None
    if reading == "bars":
        found = [set(c.x.tolist()) for m in setting.measurements if (c := read(m)) is not None]
        groups = np.array(sorted(set.intersection(*found))) if found else None
    return mean_curve(setting, read, groups)


def _reading(m: Measurement, reading: ReadingName, axis: str) -> Reading | None:
    if reading == "edges":
        edges = m.directions.get(f"detail_{axis}")
        return None if edges is None else edges_reading(edges)
    if not isinstance(m, PatchMeasurement):
        return None
    if reading == "bars":
        limit = limit_of(m, axis)
        return None if limit is None else bars_reading(limit, m.camera_curve)
    if m.texture is None:
        return None
    direction = m.texture.x if axis == "x" else m.texture.y
    return texture_reading(direction, m.camera_curve)


def limit_of(m: Measurement, axis: str) -> ResolvedLimit | None:
    """Limit of the bars of one direction; None where there are none."""
    limits = m.limits.items() if isinstance(m, PatchMeasurement) else ()
    return next((limit for along, limit in limits if along == axis), None)


def noise_curve(tint: str) -> Read:
    """Read the noise power of one tint in lightness, L*^2 mm^2."""

    def read(m: Measurement) -> Curve | None:
        found = m.tints.get(tint)
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


def plane_offsets(setting: Setting) -> list[tuple[str, str, Mean]]:
    """Plane, direction and offset against black in um, as far as a setting's prints tell."""
    found: list[tuple[str, str, Mean]] = []
    offsets = measurands(setting.measurements, Quantity.OFFSET)
    for offset in sorted(offsets, key=lambda o: (o.axis or "", o.ink)):
        mean = mean_number(setting, number(offset.name))
        if mean is not None:
            found.append((offset.ink, offset.axis or "", mean))
    return found


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
    for tint in _tints_of([setting]):
        grains = [m.tints.get(tint) for m in setting.measurements]
        lightness = float(np.mean([g.mean_lightness for g in grains if g is not None]))
        seen = mean_number(setting, _seen(tint))
        if seen is not None:
            low = max(seen.low, 0.0)
            found.append(TintGrain(tint, lightness, seen.value, low, seen.high, seen.prints))
    return tuple(sorted(found, key=lambda t: -t.mean_lightness))


def _tints_of(settings: Iterable[Setting]) -> tuple[str, ...]:
    """Names of the tints that any of the settings has, in the order of the patch."""
    names: dict[str, None] = {}
    for setting in settings:
        for m in setting.measurements:
            names |= dict.fromkeys(m.tints)
    return tuple(names)


def middle_tint(settings: Iterable[Setting]) -> str | None:
    """Name of the neutral tint nearest to mid-grey that is there, None without tints."""
    lightness = {
        name: tint.mean_lightness
        for s in settings
        for m in s.measurements
        for name, tint in m.tints.items()
    }
    grey = {n: v for n, v in lightness.items() if reflected_percent(n) is not None} or lightness
    return min(grey, key=lambda n: abs(grey[n] - 65.0), default=None)


def _seen(tint: str) -> Callable[[Measurement], Sequence[float] | None]:
    def read(m: Measurement) -> Sequence[float] | None:
        found = m.tints.get(tint)
        if found is None:
            return None
        return (found.visual_graininess, *found.visual_graininess_interval)

    return read


def _on(x: FloatArray, curve: Curve, *, of_logs: bool) -> FloatArray:
    """Value and band of a curve at x, shape (3, n)."""
    parts = np.array([np.interp(x, curve.x, y) for y in (curve.value, curve.low, curve.high)])
    if not of_logs:
        return parts
    return np.log(np.maximum(parts, 1e-4 * np.max(parts[0])))


def _over_prints(parts: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean and 95 % band over prints of values with bands, shape (prints, 3, ...)."""
    from scipy.special import stdtrit

    value, low, high = parts.mean(axis=0)
    prints = len(parts)
    if prints > 1:
        half = stdtrit(prints - 1, 0.975) / np.sqrt(prints) * parts[:, 0].std(axis=0, ddof=1)
        low, high = value - half, value + half
    return value, low, high
