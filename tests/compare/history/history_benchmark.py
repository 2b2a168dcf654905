"""How often the verdict on a head is wrong, and how soon it finds a change: numbers simulated.

    python tests/compare/history/history_benchmark.py false --years 2000
    python tests/compare/history/history_benchmark.py shift --years 400
    python tests/compare/history/history_benchmark.py drift --years 400

Numbers are drawn directly, not photographed: three prints a visit, a visit a month, normal and
independent with a standard deviation of one. Seeded by year; rows are printed as they are made.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date, timedelta

import joblib
import numpy as np

from dotloupe.compare.history.course import FOUND, State
from dotloupe.compare.history.judging import judge
from dotloupe.compare.history.series import Point, Series, known_measurands

PRINTS = 3
FIRST = date(2026, 1, 5)
ALL = 27
"""Numbers of the head that a patch of details gives."""


def names(count: int) -> list[str]:
    """Names of numbers, those of which less is better."""
    found = [
        n
        for n, m in known_measurands().items()
        if m.quantity.value in ("grain", "mottle", "raggedness", "banding", "passes_apart")
    ]
    return [*found, *(f"offset_{i}_{a}" for i in ("cyan", "magenta", "yellow") for a in "xy")][
        :count
    ]


def series(values: np.ndarray, spread: float = 0.02) -> list[Series]:
    """Numbers of shape (numbers, visits, prints), in standard deviations of a print."""
    found = []
    for name, own in zip(names(len(values)), values, strict=True):
        points = [
            Point(FIRST + timedelta(days=30 * k), f"{k}-{i}", i, value, 0.0, 1, (), ())
            for k, visit in enumerate(1 + spread * own)
            for i, value in enumerate(visit.tolist())
        ]
        found.append(Series(name, "", known_measurands()[name], tuple(points)))
    return found


def drawn(
    year: int, numbers: int, visits: int, *, between: float = 0.0, common: float = 0.0
) -> np.ndarray:
    """Numbers of a printer on which nothing changes."""
    rng = np.random.default_rng([year, numbers, 18])
    own = rng.standard_normal((numbers, visits, PRINTS))
    shared = rng.standard_normal((1, visits, PRINTS))
    prints = np.sqrt(1 - common) * own + np.sqrt(common) * shared
    return prints + between * rng.standard_normal((numbers, visits, 1))


def alarms(values: np.ndarray) -> list[date]:
    """Days at which any number was found changed for the worse."""
    courses = judge(series(values), [])
    return sorted({day for course in courses.values() for day in course.changed})


def false_alarm(year: int, numbers: int, **how: float) -> bool:
    """Whether a year of twelve visits after a baseline of three holds a false alarm."""
    return bool(alarms(drawn(year, numbers, 15, **how)))


def found_by(
    year: int, moved: int, months: int, *, shift: float = 0.0, drift: float = 0.0
) -> tuple[bool, ...]:
    """Whether a change was found by its first visit, its second and so on, and suspected at once.

    The last entry says whether the first visit was found or suspected.
    """
    values = drawn(year, ALL, months + 4)
    steps = np.arange(1, 5)
    change = shift + drift * steps
    values[:moved, months:] += change[:, None]
    if any(day < FIRST + timedelta(days=30 * months) for day in alarms(values[:, :months])):
        # an alarm of chance before the change would count as found
        values[:, :months] = drawn(year + 10**6, ALL, months + 4)[:, :months]
    days = alarms(values)
    visits = [FIRST + timedelta(days=30 * (months + k)) for k in range(4)]
    by = [any(visits[0] <= day <= visit for day in days) for visit in visits]
    first = judge(series(values[:, : months + 1]), [])
    noticed = any(c.state in (*FOUND, State.SUSPECTED) for c in first.values())
    return (*by, noticed)


def shares(rows: Sequence[Sequence[bool]]) -> str:
    """Per cent of each column."""
    return "  ".join(f"{100 * share:5.1f}" for share in np.mean(rows, axis=0))


def main() -> None:
    """Run one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("table", choices=("false", "shift", "drift"))
    parser.add_argument("--years", type=int, default=200)
    parser.add_argument("--workers", type=int, default=1)
    given = parser.parse_args()
    parallel, call = joblib.Parallel(given.workers), joblib.delayed
    years = range(given.years)
    if given.table == "false":
        print("per cent of years with a false alarm")
        for numbers in (1, 5, ALL):
            for how in ({}, {"between": 0.5}, {"common": 0.5}):
                got = parallel(call(false_alarm)(y, numbers, **how) for y in years)
                print(f"{numbers:3} numbers, {how or 'independent'}: {shares([[g] for g in got])}")
        return
    change = {"shift": 2.0} if given.table == "shift" else {"drift": 0.5}
    print(
        f"{change}: per cent found by the 1st, 2nd, 3rd, 4th visit; found or suspected at the 1st"
    )
    for months in (4, 6, 12):
        for moved in (1, 3, 8):
            got = parallel(call(found_by)(y, moved, months, **change) for y in years)
            print(f"after {months:2} months, {moved} of {ALL} numbers: {shares(got)}")


if __name__ == "__main__":
    main()
