"""Numbers as text, with no more digits than their interval supports."""

from __future__ import annotations

import math
from collections.abc import Iterable

NO_NUMBER = "–"
NO_END = "∞"


def decimals(value: float, low: float, high: float) -> int:
    """Decimal places that the interval supports; negative for whole tens, hundreds and so on.

    The half-width decides, by the rule of the Particle Data Group's reviews (introduction,
    section on rounding): two digits of it where they read 10 to 35, one above that. Without a
    usable interval three digits of the value are kept.
    """
    half = (high - low) / 2
    if not math.isfinite(half) or half <= 0:
        return 2 - _exponent(value) if math.isfinite(value) and value else 0
    exponent = _exponent(half)
    return 1 - exponent if half < 3.55 * 10.0**exponent else -exponent


def number_text(value: float | None, places: int) -> str:
    """Return the number with this many decimal places, grouped in thousands by a thin space."""
    if value is None or math.isnan(value):
        return NO_NUMBER
    if math.isinf(value):
        return NO_END if value > 0 else f"-{NO_END}"
    rounded = round(value, places)
    text = f"{rounded + 0.0:,.{max(places, 0)}f}".replace(",", "\u202f")
    return text.removeprefix("-") if not any(c in "123456789" for c in text) else text


def column_decimals(numbers: Iterable[tuple[float, float, float]]) -> int:
    """Decimal places for a column of values that are compared: those of its narrowest interval.

    Values without a usable interval count only where no other is there.
    """
    numbers = list(numbers)
    usable = [n for n in numbers if 0 < n[2] - n[1] < math.inf]
    return max((decimals(*n) for n in usable or numbers), default=0)


def value_text(value: float, low: float, high: float, places: int | None = None) -> str:
    """Return the value rounded to what its interval supports, or to `places` of its column.

    Where the upper end is open the value is no estimate, and what is told is its lower bound.
    """
    if math.isinf(high) and math.isfinite(low):
        return (
            f"at least {number_text(low, decimals(low, low, high) if places is None else places)}"
        )
    return number_text(value, decimals(value, low, high) if places is None else places)


def interval_text(value: float, low: float, high: float, places: int | None = None) -> str:
    """Return the interval as `low to high`, rounded like its value."""
    if math.isnan(low) or math.isnan(high):
        return "not known"
    if places is None:
        places = decimals(value, low, high)
    return f"{number_text(low, places)} to {number_text(high, places)}"


def percent_text(percent: float, low: float | None = None, high: float | None = None) -> str:
    """Return the size of a change in per cent, without its sign."""
    size = abs(percent)
    ends = (size, size) if low is None or high is None else (low, high)
    places = min(max(decimals(size, *ends), 0), 1)
    return f"{number_text(size, places)} %"


def percent_ends(percent: float, low: float | None, high: float | None) -> str:
    """Return the interval of a change in per cent, in the direction of the change; "" for none.

    Nothing can lose more than all of it: a loss ends at 100 %.
    """
    if low is None or high is None:
        return ""
    sign = 1 if percent >= 0 else -1
    places = min(max(decimals(percent, low, high), 0), 1)
    near, far = sorted((sign * low, sign * high))
    far = far if sign > 0 else min(far, 100.0)
    return f"{number_text(near, places)} to {number_text(far, places)} %"


def _exponent(value: float) -> int:
    return math.floor(math.log10(abs(value)))
