"""Plot of what the set-up and the printer add to every number."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from dotloupe.report.plots.plot import Plot
from dotloupe.report.plots.style import SERIES
from dotloupe.report.text import repeat_caption

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes

    from dotloupe.compare.repeatability import NumberRepeatability, Repeatability
    from dotloupe.report.plots.csv_rows import Row

SLOT_IN, AROUND_IN = 0.3, 1.0


def repeat_plot(found: Repeatability) -> Plot:
    """Standard deviations of photograph and print in per cent of the mean, with 95 % intervals."""
    numbers = [n for n in found.numbers.values() if _has_scale(n)]
    bars = [(n.title, _percent(n, "set-up"), _percent(n, "printer")) for n in numbers]
    return Plot(
        "repeats",
        "repeats",
        repeat_caption(),
        partial(_draw, bars),
        _rows(numbers),
        (9.0, AROUND_IN + SLOT_IN * max(len(bars), 3)),
    )


def _has_scale(number: NumberRepeatability) -> bool:
    """Whether the number has a zero of its own: an offset lies on either side of it."""
    return number.variances.mean > 0 and not number.signed


def _percent(number: NumberRepeatability, which: str) -> tuple[float, float, float]:
    variances = number.variances
    part = variances.photograph if which == "set-up" else variances.between
    share = 100 / variances.mean
    low, high = part.sd_interval
    return share * part.sd, share * low, share * high


def _rows(numbers: Sequence[NumberRepeatability]) -> Iterator[Row]:
    for number in numbers:
        for which in ("set-up", "printer"):
            sd, low, high = _percent(number, which)
            yield {
                "number": number.name,
                "part": which,
                "sd_percent": sd,
                "low": low,
                "high": high,
            }


def _draw(
    bars: Sequence[tuple[str, tuple[float, float, float], tuple[float, float, float]]], axis: Axes
) -> Axes:
    most = 2 * max((sd for _, *parts in bars for sd, _, _ in parts), default=1.0)
    for side, colour, label in ((0, SERIES[0], "set-up"), (1, SERIES[1], "printer")):
        for slot, (_, *parts) in enumerate(bars):
            sd, low, high = parts[side]
            at = slot + 0.36 * side - 0.18
            axis.barh(at, sd, 0.34, color=colour, label=label if slot == 0 else "_")
            axis.plot([low, min(high, most)], [at, at], color=colour, lw=0.8, alpha=0.7)
    axis.set_yticks(range(len(bars)), [title for title, *_ in bars])
    axis.invert_yaxis()
    axis.set(xlabel="Standard deviation, % of the mean", xlim=(0, most))
    axis.legend(loc="lower right")
    return axis
