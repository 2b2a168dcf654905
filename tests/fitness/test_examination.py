"""Single faults injected alone, and captures without any: what an examination calls them."""

from collections import Counter
from dataclasses import replace

import cv2
import numpy as np
import pytest

from dotloupe.session.checking import check_file
from dotloupe.session.measuring import measure_file

from .conftest import FAULTS, PRINTS, Fault

NAMES = {name: name for name in FAULTS if name != "none"} | {
    "compression before": "compression",
    "uneven light, shadow": "uneven light",
    "motion along an axis": "defocus",
}
"""What the fault is to be called; a printer may be as soft along an axis as a motion makes it, so
that the capture says that it cannot rule out a camera out of focus or moved."""
EVERYDAY = ("defocus", "curl", "sharpening", "exposure")
CAPTURES, CLEAN_CAPTURES = 40, 100


def findings(captured, name, seed):
    """Names of what is found wrong, the worst first."""
    checked = check_file(captured(name, seed, seed % len(PRINTS)))[0]
    assert checked.fitness is not None, checked.messages
    return [finding.name for finding in checked.fitness.findings]


def blamed(captured, name, seed):
    """Names of what is found wrong, without what cannot be told."""
    checked = check_file(captured(name, seed, seed % len(PRINTS)))[0]
    assert checked.fitness is not None, checked.messages
    return [f.name for f in (*checked.fitness.reasons, *checked.fitness.warnings)]


@pytest.mark.parametrize("name", EVERYDAY)
def test_fault_is_named(captured, name):
    assert NAMES[name] in findings(captured, name, 0)


def test_the_lens_is_not_blamed_for_what_was_done_to_the_picture(captured):
    """Sharpening lifts the grain of light tints more than of dark ones, as a soft corner would."""
    assert blamed(captured, "sharpening", 0) == []
    assert "sharpening" in findings(captured, "sharpening", 0)


def test_shadows_are_not_seen_in_what_a_compression_left(captured):
    """A small JPEG in between makes areas of paper differ by its own steps."""
    assert blamed(captured, "compression before", 2) == ["compression"]


def _with_a_soft_corner(coded):
    rows, columns = coded.shape[:2]
    y, x = np.mgrid[:rows, :columns]
    share = np.clip((x / columns + y / rows - 1.1) / 0.5, 0, 1)[..., None]
    return np.round(coded + share * (cv2.GaussianBlur(coded, (0, 0), 2.5) - 1.0 * coded)).astype(
        np.uint8
    )


@pytest.mark.parametrize(
    ("fault", "name"),
    [
        (Fault(coded=_with_a_soft_corner, quality=60), "uneven focus"),
        (replace(FAULTS["uneven light, shadow"], quality=60), "uneven light"),
    ],
    ids=["lens", "shadow"],
)
def test_a_small_jpeg_hides_no_fault_of_lens_or_light(captured, monkeypatch, fault, name):
    """Quality 60 earns a warning; no clean capture of it (8 tried) looks soft or shadowed."""
    monkeypatch.setitem(FAULTS, "two at once", fault)
    assert {"compression", name} <= set(findings(captured, "two at once", 0))


@pytest.mark.parametrize(
    ("focus_error_mm", "verdicts"),
    [(2.0, {"cannot tell", "not fit"}), (2.5, {"not fit"}), (3.5, {"not fit"})],
)
@pytest.mark.parametrize("print_number", [0, 3])
def test_a_defocus_that_leaves_no_grain_is_told_by_the_marks(
    captured, monkeypatch, focus_error_mm, verdicts, print_number
):
    """The dots are gone; black edges are soft by 62 um, as ink may make them, or by more."""
    fault = Fault(shot=lambda shot, _: replace(shot, focus_error_mm=focus_error_mm))
    monkeypatch.setitem(FAULTS, "far out of focus", fault)
    checked = check_file(captured("far out of focus", 0, print_number))[0]
    assert checked.verdict in verdicts
    assert "defocus" in {f.name for f in checked.fitness.findings}


def test_nothing_is_blamed_on_a_clean_capture(captured):
    assert blamed(captured, "none", 0) == []


def test_check_and_measure_find_the_same(captured):
    """The same edges are read for sharpening, and so every number is the same."""
    path = captured("none", 1, 1)
    checked, measured = check_file(path)[0], measure_file(path)[0]
    assert checked.fitness.checks == measured.fitness.checks


HALF_NAMED = pytest.mark.xfail(
    reason="of 40 captures moved by 64 um 20 are named, of the others it is said that they may be",
    strict=True,
)


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=[HALF_NAMED] * (n == "motion blur")) for n in NAMES]
)
def test_each_fault_is_named_as_itself(captured, name, table_row):
    """At least 95 % of 40 captures of four prints."""
    found = [findings(captured, name, seed) for seed in range(CAPTURES)]
    named = sum(NAMES[name] in one for one in found)
    others = Counter(other for one in found for other in one if other != NAMES[name])
    beside = ", ".join(f"{other} {count}" for other, count in others.most_common())
    table_row(
        "faults named as themselves (simulated)",
        f"{name:22s} {named:3d} of {CAPTURES}{'; beside it: ' + beside if beside else ''}",
    )
    assert named >= 0.95 * CAPTURES


@pytest.mark.slow
def test_clean_captures_raise_nothing(captured, table_row):
    """At least 98 % of 100 captures of four prints."""
    found = [blamed(captured, "none", seed) for seed in range(CLEAN_CAPTURES)]
    quiet = sum(not one for one in found)
    raised = Counter(other for one in found for other in one)
    what = ", ".join(f"{other} {count}" for other, count in raised.most_common())
    row = f"{'none':22s} {quiet:3d} of {CLEAN_CAPTURES} raise nothing"
    table_row("faults named as themselves (simulated)", f"{row}; raised: {what}" if what else row)
    assert quiet >= 0.98 * CLEAN_CAPTURES
