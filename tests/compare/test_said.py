"""What a person reads where there is little to say, or where nothing can be said: word by word."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from dotloupe.compare.differences import number_differences
from dotloupe.compare.history.events import Event
from dotloupe.compare.history.printer_history import History
from dotloupe.compare.history.series import Point
from dotloupe.compare.history.trend import trend
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility.picture_difference import PictureVisibility, picture_visibility
from dotloupe.errors import InputError
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.number_differences import differences_by_group, differences_conclusion
from dotloupe.report.text.trend import advice_sentence, event_sentence
from dotloupe.report.text.visibility import far, picture_sentence

from .invented import saturating_ladder, shot, shots

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
                "The alignment of 12 January made no difference to visible grain that these prints "
                "show; 0.02 L* rms could have been found."
            ),
        ),
    ],
)
def test_one_print_before_an_alignment_and_one_after(values, advice):
    assert event_sentence(chart(values, event_at=1)) == advice


def test_a_baseline_without_prints_or_with_too_few():
    two = chart((0.80, 0.81))
    assert advice_sentence(two) == (
        "Visible grain in the fast mode has nothing to compare with yet: add three prints on "
        "another day."
    )
    none = chart((0.80, 0.81, 0.80, 0.79), baseline=(date(2025, 1, 1), date(2025, 2, 1)))
    assert caution_texts(none.cautions) == (
        "no print falls in the baseline given: choose other days",
    )
    assert none.baseline is None


def test_only_what_both_settings_hold_is_held_against_each_other():
    before = shots("before", grain=0.5, raggedness_x=8.0, offset_cyan_x=3.0)
    after = shots("after", seed=2, grain=0.5, offset_cyan_x=3.0)
    found = number_differences(rank({"before": before, "after": after}))
    assert [c.name for c in found] == ["offset_cyan_x"]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ({"line_pairs_x": 8.0}, {"line_pairs_x": 8.0}, "."),
        (
            {"grain": 0.5},
            {"grain": 0.5},
            "; from 35 cm even a keen eye sees no difference.",
        ),
    ],
)
def test_nothing_looked_at_is_nothing_changed(before, after, said):
    ranking = rank({"a": shots("a", **before), "b": shots("b", seed=2, **after)})
    assert number_differences(ranking) == ()
    assert differences_by_group(()) == ()
    assert differences_conclusion((), ranking) == (
        "In all, the two settings differ in nothing that was looked at by more than repeats vary"
        f"{said}"
    )


def test_a_change_that_shows_is_told_with_its_least_distance():
    ranking = rank({"a": shots("a", grain=0.4), "b": shots("b", seed=2, grain=1.2)})
    near = ranking.visibility[0].interval[0]
    assert near > 350
    assert differences_conclusion((), ranking).endswith(
        f"; a keen eye sees a difference from 35 cm, and up to {far(near)} at least."
    )


def test_a_change_that_may_show_is_not_settled():
    wide = {"spread": 0.25, "count": 3}
    ranking = rank({"a": shots("a", grain=0.5, **wide), "b": shots("b", 2, grain=0.6, **wide)})
    near, far_off = ranking.visibility[0].interval
    assert near < 350 <= far_off
    assert differences_conclusion((), ranking).endswith(
        "; whether a keen eye sees a difference from 35 cm is not settled by these prints."
    )


def test_four_ppi_draw_a_trend_and_test_none():
    found = saturating_ladder([240.0, 360, 600, 1200], 150.0)
    assert set(found.criteria) == {"detail_x"}  # of no grain there is no share to tell
    assert caution_texts(found.leading.cautions)[1:] == (
        "fewer than five ppi: whether one stands out cannot be tested",
    )


def test_a_lowest_ppi_that_is_enough_asks_for_lower_ones():
    found = saturating_ladder([600.0, 720, 900, 1200, 2400], 60.0)
    assert found.enough_ppi == 600
    assert caution_texts(found.leading.cautions)[1:] == (
        "the lowest ppi sent is enough already: send lower ones to find the limit",
    )


def test_a_ladder_that_cannot_be_climbed():
    with pytest.raises(InputError) as caught:
        saturating_ladder([300.0, 600], 100.0, share=0.4)
    assert str(caught.value) == "share 0.4: give one from 0.5 to below 1"
    one = [shot("a", {"detail_x": 4.0})]
    with pytest.raises(InputError) as caught:
        ladder({"300": one, 300.0: one})
    assert str(caught.value) == "sent ppi 300 is given twice: put its captures together"


def test_a_photograph_given_twice_counts_once():
    twice = shots("a", grain=0.5)
    ranking = rank({"a": [*twice, twice[0]], "b": shots("b", grain=0.7)})
    assert ranking.criteria["grain"].places[0].n == 4
    assert "a0.tif: the same photograph as a0.tif, counted once" in caution_texts(ranking.cautions)


def test_one_photograph_under_two_names_is_not_two_settings():
    """It is told by its content, wherever it lies."""
    again = replace(shots("a", grain=0.5)[0], path="copy of a0.tif")
    with pytest.raises(InputError) as caught:
        rank({"a": shots("a", grain=0.5), "b": [*shots("b", grain=0.7), again]})
    assert str(caught.value) == (
        "copy of a0.tif: the same photograph as a0.tif, given as setting a and as setting b: "
        "keep it in one of them"
    )


def test_prints_are_looked_at_from_somewhere():
    with pytest.raises(InputError) as caught:
        rank({"a": shots("a", grain=1.0), "b": shots("b", grain=1.0)}, viewing_distance_mm=0.0)
    assert str(caught.value) == "viewing distance 0.0 mm: give one above 0"


NONE = np.zeros(0)
SAME = "look the same from 35 cm in tone, colour and sharpness"
DIFFER = "differ in tone, colour or sharpness"
BEYOND = "beyond what prints of one setting do"
OPEN = (
    "Whether their prints laid on each other differ in tone, colour or sharpness as a keen eye "
    "sees from 35 cm is not settled: beyond what prints of one setting differ by, what was "
    "measured would be seen"
)
LAID = "Laid on each other, their prints"


@pytest.mark.parametrize(
    ("reach", "interval", "said"),
    [
        (
            *(0.0, (0.0, 240.0)),
            f"{LAID} show no other difference in tone, colour or sharpness without a magnifier.",
        ),
        (
            *(0.0, (0.0, 300.0)),
            f"{LAID} {SAME}, and differ from closer than 30 cm at most.",
        ),
        (
            *(0.0, (0.0, 1500.0)),
            f"{OPEN} from nowhere (95 % interval: up to 1.5 m).",
        ),
        (
            *(800.0, (0.0, 1500.0)),
            f"{OPEN} up to 80 cm (95 % interval: not at all to 1.5 m).",
        ),
        (
            *(800.0, (400.0, 1500.0)),
            (
                f"{LAID} {DIFFER} as a keen eye can see from 35 cm, and up to 80 cm (95 % "
                f"interval: 40 cm to 1.5 m), {BEYOND}."
            ),
        ),
    ],
)
def test_what_prints_laid_on_each_other_show(reach, interval, said):
    picture = PictureVisibility(reach, interval, True, NONE, NONE, NONE, NONE)
    assert picture_sentence(picture, 350.0) == said


def test_single_prints_laid_on_each_other_show_nothing():
    picture = PictureVisibility(900.0, (0.0, 900.0), False, NONE, NONE, NONE, NONE)
    assert picture_sentence(picture, 350.0) == (
        "Laid on each other, their prints were not compared: it takes two prints of a setting to "
        "know what repeats differ by."
    )


def test_distances_as_a_person_says_them():
    assert [far(mm) for mm in (123.0, 999.0, 1000.0, 4321.0, 20000.0, 1e6)] == [
        *("12 cm", "100 cm", "1.0 m", "4.3 m", "20 m and more", "20 m and more"),
    ]


def test_pictures_of_two_shapes_are_refused():
    with pytest.raises(InputError) as caught:
        picture_visibility([np.ones((40, 40, 3))], [np.ones((40, 41, 3))], 10.0)
    assert str(caught.value) == (
        "pictures of one shape and three channels are needed: cut them alike"
    )
    same = picture_visibility([np.ones((40, 40, 3))], [np.ones((40, 40, 3))], 10.0)
    assert same.difference.tolist() == [0.0] * 12


def test_a_history_that_holds_no_capture_says_so(tmp_path):
    history = History(tmp_path / "h.sqlite")
    history.add_event("alignment", printer="p", happened_on="2026-01-05")
    with pytest.raises(InputError) as caught:
        history.track("grain", printer=None)
    assert str(caught.value) == f"{history.path}: the history holds no capture yet: add one"
    with pytest.raises(InputError, match=r"^note .*: bytes that are no text: write it anew$"):
        history.add_event("move", printer="p", happened_on="2026-01-06", note="to \udcff")


def test_an_event_before_the_first_print_or_after_the_last_tells_of_no_step():
    """A day's prints count as made after what was done on it."""
    assert chart((0.80, 0.81, 0.80, 0.79), event_at=0).event_steps == ()
    late = Event("alignment", FIRST + timedelta(days=99))
    points = chart((0.80, 0.81, 0.80, 0.79)).points
    named = {"printer": "p", "mode": "fast", "paper": "q", "unit": "L* rms"}
    assert trend(points, [late], criterion="grain", **named).event_steps == ()
