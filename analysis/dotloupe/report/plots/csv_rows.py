"""The data behind each plot as rows, one value a row, for CSV files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from dotloupe.compare import tint_said
from dotloupe.report.plots.curves import (
    Curve,
    Read,
    bars_curve,
    detail_curve,
    limit_of,
    mean_curve,
    noise_curve,
    plane_offsets,
    tint_grain,
)
from dotloupe.report.plots.focus import focus_of

if TYPE_CHECKING:
    from dotloupe.compare.history import Trend
    from dotloupe.compare.ladder import Climb
    from dotloupe.compare.ranking import CriterionRanking
    from dotloupe.compare.visibility import PairVisibility
    from dotloupe.measure import ReadingName
    from dotloupe.measurement import Measurement
    from dotloupe.report.settings import Setting

Row = dict[str, Any]


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
            "high": p.high,
            "prints": p.n,
        }


def ladder_rows(climb: Climb) -> Iterator[Row]:
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
            "outside_limits": i in trend.outside,
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


def detail_rows(settings: Iterable[Setting], name: str) -> Iterator[Row]:
    """Response to edges, one row a setting and frequency."""
    return _curve_rows(settings, detail_curve(name), "frequency_cycles_per_mm", "mtf")


def bars_rows(settings: Iterable[Setting], axis: str) -> Iterator[Row]:
    """Contrast of bars, one row a setting and group."""
    for s in settings:
        frequencies = next(
            (limit.frequency for m in s.measurements if (limit := limit_of(m, axis)) is not None),
            None,
        )
        if frequencies is None:
            continue
        curve = mean_curve(s, bars_curve(axis), frequencies)
        yield from _rows_of(s, curve, "line_pairs_per_mm", "contrast")


def reading_rows(setting: Setting, readings: Mapping[ReadingName, Curve]) -> Iterator[Row]:
    """Detail of one setting by edges, bars and texture, one row a reading and frequency."""
    for name, curve in readings.items():
        for row in _rows_of(setting, curve, "frequency_cycles_per_mm", "modulation"):
            yield {"reading": name, **row}


def noise_rows(settings: Iterable[Setting], tint: str) -> Iterator[Row]:
    """Noise power of a tint, one row a setting and frequency."""
    for s in settings:
        curve = mean_curve(s, noise_curve(tint), of_logs=True)
        yield from _rows_of(s, curve, "frequency_cycles_per_mm", "power_lstar2_mm2")


def placement_rows(settings: Iterable[Setting]) -> Iterator[Row]:
    """Offsets of the ink planes against black, one row a setting, plane and direction."""
    for s in settings:
        for plane, direction, mean in plane_offsets(s):
            yield {
                "setting": guarded(s.name),
                "plane": plane,
                "direction": direction,
                "offset_um": mean.value,
                "low": mean.low,
                "high": mean.high,
                "prints": mean.prints,
            }


def focus_rows(setting: Setting, m: Measurement) -> Iterator[Row]:
    """Focus over the patch of one capture, one row a place."""
    focus = focus_of(m)
    if focus is None:
        return
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
                    "capture": guarded(m.path),
                    "print": guarded(m.print_id),
                    "number": name,
                    "unit": found.unit,
                    "value": found.value,
                    "low": found.low,
                    "high": found.high,
                }


def tint_rows(settings: Iterable[Setting]) -> Iterator[Row]:
    """Visible grain, one row a setting and tint."""
    for s in settings:
        for t in tint_grain(s):
            yield {
                "setting": guarded(s.name),
                "tint": tint_said(t.tint),
                "mean_lightness": t.mean_lightness,
                "visible_grain_lstar_rms": t.value,
                "low": t.low,
                "high": t.high,
                "prints": t.prints,
            }


def guarded(text: str) -> str:
    """Return text that a spreadsheet takes for text, not for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _curve_rows(settings: Iterable[Setting], read: Read, x: str, y: str) -> Iterator[Row]:
    for s in settings:
        yield from _rows_of(s, mean_curve(s, read), x, y)


def _rows_of(s: Setting, curve: Curve | None, x: str, y: str) -> Iterator[Row]:
    if curve is None:
        return
    for at, value, low, high in zip(curve.x, curve.value, curve.low, curve.high, strict=True):
        yield {
            "setting": guarded(s.name),
            x: float(at),
            y: float(value),
            "low": float(low),
            "high": float(high),
            "prints": curve.prints,
        }
