"""What a printer's history comes to, in sentences."""

from datetime import date, timedelta

import pytest

from dotloupe.compare.history.events import Event
from dotloupe.compare.history.series import Point
from dotloupe.compare.history.trend import trend
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.trend import advice_sentence, event_sentence

FIRST = date(2026, 1, 5)


def chart(values, event_at=None, **more):
    points = [
        Point(FIRST + timedelta(days=7 * i), f"p{i}", i + 1, v, 0.005, 1, (f"hash{i}",), ("0.1",))
        for i, v in enumerate(values)
    ]
    events = [] if event_at is None else [Event("alignment", points[event_at].printed_on)]
    named = {"printer": "p", "mode": "fast", "paper": "q", "unit": "L* rms"}
    return trend(points, events, criterion="grain", **named, **more)


@pytest.mark.parametrize(
    ("values", "advice"),
    [
        # errors of 0.005 each: 1.96 sqrt(2) 0.005 is 1.5 % of 0.95 and 1.7 % of 0.80
        (
            (0.95, 0.80),
            (
                "The alignment of 12 January lowered visible grain by 16 % (14 to 17 %), for the "
                "better."
            ),
        ),
        (
            (0.80, 0.95),
            (
                "The alignment of 12 January raised visible grain by 19 % (17 to 20 %), for the "
                "worse."
            ),
        ),
        # found in four of five cases: (1.96 + 0.84) sqrt(2) 0.005
        (
            (0.80, 0.803),
            (
                "After the alignment of 12 January, these prints show no change in visible grain; "
                "they would have found a change of 0.02 L* rms."
            ),
        ),
    ],
)
def test_one_print_before_an_alignment_and_one_after(values, advice):
    assert event_sentence(chart(values, event_at=1)) == advice


def test_a_baseline_without_prints_or_with_too_few():
    two = chart((0.80, 0.81))
    assert advice_sentence(two) == (
        "Visible grain in “fast” mode has nothing to be compared with yet. Add three prints on "
        "another day."
    )
    none = chart((0.80, 0.81, 0.80, 0.79), baseline=(date(2025, 1, 1), date(2025, 2, 1)))
    assert caution_texts(none.cautions) == (
        "no print falls in the baseline given: choose other days",
    )
    assert none.baseline is None
