"""The data behind each plot as rows, one value a row, for CSV files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, TypeAlias

from dotloupe.number import tint_title
from dotloupe.report.model import sources_of

if TYPE_CHECKING:
    from dotloupe.compare.effects import CriterionEffects, Estimate, Factor, Level
    from dotloupe.compare.history import Trend
    from dotloupe.compare.ladder import CriterionLadder
    from dotloupe.compare.ranking import CriterionRanking
    from dotloupe.compare.visibility import PairVisibility
    from dotloupe.fitness import FocusMap
    from dotloupe.measure import ReadingName
    from dotloupe.measurement import Measurement
    from dotloupe.report.model import Setting
    from dotloupe.report.plots.curves import Curve, Mean, TintGrain

Row: TypeAlias = dict[str, str | float | None]


def criterion_rows(criterion: CriterionRanking) -> Iterator[Row]:
    """Places of a criterion, one row a setting."""
    for p in criterion.places:
        yield {
            "criterion": criterion.name,
            "unit": criterion.unit,
            "better": criterion.better,
            "setting": guarded(p.setting),
            "place": p.place,
            "tied_with": guarded("; ".join(p.tied_with)),
            "value": p.value,
            "low": p.low,
            "high": "" if p.at_least else p.high,
            "at_least": p.at_least,
            "prints": p.n,
        }


def cell_rows(found: CriterionEffects, factors: Iterable[Factor]) -> Iterator[Row]:
    """Prints of crossed factors, one row a print."""
    for cell, sample in found.samples.items():
        levels = {f.name: _level(x) for f, x in zip(factors, cell, strict=True)}
        for one in sample.prints:
            yield {
                "criterion": found.name,
                "unit": found.unit,
                **levels,
                "print": guarded(one.print_id),
                "value": one.value,
            }


def effect_rows(found: CriterionEffects) -> Iterator[Row]:
    """Effects and differences of differences, one row each."""
    for e in (*found.effects, *found.simple_effects):
        within = "; ".join(f"{name} {level}" for name, level in e.contrast.within.items())
        yield _effect_row(
            found, e.estimate, e.contrast.factor, (e.contrast.start, e.contrast.end), within
        )
    for i in found.interactions:
        (a, c), (b, d) = i.contrast.start, i.contrast.end
        names = " x ".join(i.contrast.factors)
        yield _effect_row(found, i.estimate, names, (f"{a}; {c}", f"{b}; {d}"), "")


def _effect_row(
    found: CriterionEffects,
    estimate: Estimate,
    name: str,
    levels: tuple[Level, Level],
    within: str,
) -> Row:
    return {
        "criterion": found.name,
        "unit": found.unit,
        "factor": guarded(name),
        "from": _level(levels[0]),
        "to": _level(levels[1]),
        "within": guarded(within),
        "difference": estimate.difference,
        "low": estimate.low,
        "high": estimate.high,
        "distinguishable": estimate.distinguishable,
        "prints": estimate.n,
    }


def _level(level: Level) -> str | float:
    return guarded(level) if isinstance(level, str) else level


def ladder_rows(climb: CriterionLadder) -> Iterator[Row]:
    """Points of a ladder, one row a ppi."""
    departures = {d.sent_ppi: d for d in climb.departures}
    for r in climb.rungs:
        departure = departures.get(r.sent_ppi)
        yield {
            "criterion": climb.name,
            "unit": climb.unit,
            "sent_ppi": r.sent_ppi,
            "value": r.value,
            "low": r.low,
            "high": r.high,
            "prints": r.n,
            "nyquist_cycles_per_mm": r.nyquist,
            "against_trend_percent": None if departure is None else departure.percent,
            "outstanding": None if departure is None else departure.outstanding,
        }


def trend_rows(trend: Trend) -> Iterator[Row]:
    """Prints of a trend, one row a print."""
    for i, p in enumerate(trend.points):
        yield {
            "criterion": trend.criterion,
            "unit": trend.unit,
            "printed_on": p.printed_on.isoformat(),
            "print": guarded(p.print_id),
            "value": p.value,
            "standard_error": p.standard_error,
            "photographs": p.photographs,
            "found_changed": i in trend.outside,
        }


def eyesight_rows(pairs: Iterable[PairVisibility]) -> Iterator[Row]:
    """Distances up to which two settings differ to the eye, one row a pair and criterion."""
    for pair in pairs:
        for by in pair.by:
            yield {
                "setting": guarded(pair.setting),
                "other": guarded(pair.other),
                "criterion": by.criterion,
                "visible_steps": by.steps,
                "steps_low": by.steps_interval[0],
                "steps_high": by.steps_interval[1],
                "distance_mm": by.distance_mm,
                "low": by.interval[0],
                "high": by.interval[1],
            }
        if pair.picture is not None:
            yield {
                "setting": guarded(pair.setting),
                "other": guarded(pair.other),
                "criterion": "prints laid on each other",
                "visible_steps": None,
                "steps_low": None,
                "steps_high": None,
                "distance_mm": pair.picture.distance_mm,
                "low": pair.picture.interval[0],
                "high": pair.picture.interval[1],
            }


def curve_rows(curves: Iterable[tuple[Setting, Curve]], x: str, y: str) -> Iterator[Row]:
    """Mean curves, one row a setting and point.

    Parameters
    ----------
    curves : iterable of (Setting, Curve)
    x, y : str
        Names of their columns.
    """
    for setting, curve in curves:
        for at, value, low, high in zip(curve.x, curve.value, curve.low, curve.high, strict=True):
            yield {
                "setting": guarded(setting.name),
                x: float(at),
                y: float(value),
                "low": float(low),
                "high": float(high),
                "prints": curve.prints,
            }


def reading_rows(setting: Setting, readings: Mapping[ReadingName, Curve]) -> Iterator[Row]:
    """Detail of one setting by edges, bars and texture, one row a reading and frequency."""
    for name, curve in readings.items():
        for row in curve_rows([(setting, curve)], "frequency_cycles_per_mm", "modulation"):
            yield {"reading": name, **row}


def placement_rows(
    offsets: Iterable[tuple[Setting, Iterable[tuple[str, str, Mean]]]],
) -> Iterator[Row]:
    """Offsets of the ink planes against black, one row a setting, plane and direction."""
    for s, found in offsets:
        for plane, direction, mean in found:
            yield {
                "setting": guarded(s.name),
                "plane": plane,
                "direction": direction,
                "offset_um": mean.value,
                "low": mean.low,
                "high": mean.high,
                "prints": mean.prints,
            }


def focus_rows(setting: Setting, m: Measurement, focus: FocusMap) -> Iterator[Row]:
    """Focus over the patch of one capture, one row a place."""
    for name, (x, y), softer in zip(focus.names, focus.places_mm, focus.softer, strict=True):
        yield {
            "setting": guarded(setting.name),
            "capture": guarded(m.path),
            "place": name,
            "x_mm": float(x),
            "y_mm": float(y),
            "softer_percent": 100 * float(softer),
        }


def number_rows(settings: Iterable[Setting]) -> Iterator[Row]:
    """Every number of every capture, one a row."""
    for s in settings:
        for m in s.measurements:
            for name, found in m.numbers.items():
                yield {
                    "setting": guarded(s.name),
                    "capture": guarded("; ".join(sources_of(m, name))),
                    "print": guarded(m.print_id),
                    "number": name,
                    "unit": found.unit,
                    "value": found.value,
                    "low": found.low,
                    "high": found.high,
                }


def tint_rows(grains: Iterable[tuple[Setting, Iterable[TintGrain]]]) -> Iterator[Row]:
    """Visible grain, one row a setting and tint."""
    for s, tints in grains:
        for t in tints:
            yield {
                "setting": guarded(s.name),
                "tint": tint_title(t.tint),
                "mean_lightness": t.mean_lightness,
                "visible_grain_lstar_rms": t.value,
                "low": t.low,
                "high": t.high,
                "prints": t.prints,
            }


def guarded(text: str) -> str:
    """Return text that a spreadsheet takes for text, not for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
