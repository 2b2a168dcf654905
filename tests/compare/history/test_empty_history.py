"""A history without captures, and events without prints on both sides."""

from datetime import date, timedelta

import pytest

from dotloupe.compare.history.events import Event
from dotloupe.compare.history.printer_history import History
from dotloupe.compare.history.series import Point
from dotloupe.compare.history.trend import trend
from dotloupe.errors import InputError

FIRST = date(2026, 1, 5)


def chart(values, event_at=None, **more):
    points = [
        Point(FIRST + timedelta(days=7 * i), f"p{i}", i + 1, v, 0.005, 1, (f"hash{i}",), ("0.1",))
        for i, v in enumerate(values)
    ]
    events = [] if event_at is None else [Event("alignment", points[event_at].printed_on)]
    named = {"printer": "p", "mode": "fast", "paper": "q", "unit": "L* rms"}
    return trend(points, events, criterion="grain", **named, **more)


def test_a_history_that_holds_no_capture_says_so(tmp_path):
    history = History(tmp_path / "h.sqlite")
    history.add_event("alignment", printer="p", happened_on="2026-01-05")
    with pytest.raises(InputError) as caught:
        history.track("grain", printer=None)
    assert str(caught.value) == f"{history.path}: the history holds no capture yet: add one"
    with pytest.raises(InputError, match=r"^note .*: bytes that are not text: write it again$"):
        history.add_event("move", printer="p", happened_on="2026-01-06", note="to \udcff")


def test_an_event_before_the_first_print_or_after_the_last_tells_of_no_step():
    """A day's prints count as made after what was done on it."""
    assert chart((0.80, 0.81, 0.80, 0.79), event_at=0).event_steps == ()
    late = Event("alignment", FIRST + timedelta(days=99))
    points = chart((0.80, 0.81, 0.80, 0.79)).points
    named = {"printer": "p", "mode": "fast", "paper": "q", "unit": "L* rms"}
    assert trend(points, [late], criterion="grain", **named).event_steps == ()
