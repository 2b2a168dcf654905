"""Prints at 97 and 150 %: numbers in true millimetres, by a scan's resolution or a told width."""

from dataclasses import replace

import numpy as np
import pytest
from printers import PRINTERS
from printers.cameras import Camera, photograph

from dotloupe import Patch, measure_capture
from dotloupe.errors import NotFitError
from dotloupe.registration import PrintedScale, in_true_mm, register

PER_MM = 90.0
PRINTER = "dye_300"
"""Continuous tone: its detail does not hang on where a dot falls."""
DRAWN_MM = 29.0
"""Outer edge to outer edge of the corner marks: the layout's own figures, 30 mm less 0.5 each."""
SIZES = (0.97, 1.5)
TRUE = 0.01


@pytest.fixture(scope="module")
def captures(tmp_path_factory):
    """The drawing printed larger or smaller, as a driver does: sent at another ppi."""
    found = {}
    for scale in (1.0, *SIZES):
        patch = Patch(600, run=3)
        printed = PRINTERS[PRINTER].print_drawing(patch.reflectance(), 600 / scale, seed=5)
        shot = photograph(printed, Camera(pixels_per_mm=PER_MM), seed=7)
        found[scale] = shot.to_capture(tmp_path_factory.mktemp(f"{scale:g}"))
    return found


def stated(capture, pixels_per_mm=PER_MM):
    """The same as a scan that states its resolution."""
    return replace(capture, settings=replace(capture.settings, pixels_per_mm=pixels_per_mm))


@pytest.fixture(scope="module")
def measured(captures):
    return {scale: measure_capture(stated(capture)) for scale, capture in captures.items()}


def said(m):
    return [w for w in m.warnings if isinstance(w, PrintedScale)]


@pytest.mark.parametrize("scale", SIZES)
def test_width_is_that_of_the_print_and_it_is_said(measured, scale):
    (caution,) = said(measured[scale])
    assert caution.percent == pytest.approx(100 * scale, rel=1e-3)
    assert caution.width_mm == pytest.approx(DRAWN_MM * scale, rel=1e-3)
    assert not caution.told
    assert measured[scale].fit
    assert measured[scale].sent_ppi == 600
    assert measured[scale].set_up.pixels_per_mm == pytest.approx(PER_MM, rel=1e-3)


def test_told_width_and_stated_resolution_give_the_same(captures, measured):
    scale = 0.97
    told = measure_capture(captures[scale], true_width_mm=said(measured[scale])[0].width_mm)
    assert said(told)[0].told
    assert told.parameters.true_width_mm == said(measured[scale])[0].width_mm
    for name, number in measured[scale].numbers.items():
        assert told.numbers[name].value == pytest.approx(number.value, rel=1e-6, nan_ok=True), name


@pytest.mark.parametrize("scale", SIZES)
def test_all_lengths_follow_the_scale(captures, measured, scale):
    """Against the very capture in millimetres as drawn: frequencies fall as lengths grow."""
    as_drawn, true = measure_capture(captures[scale]), measured[scale]
    powers = {"detail": -1, "line_pairs": -1, "texture_kept": -1, "line_width": 1}
    for quantity, power in powers.items():
        for axis in ("x", "y"):
            name = f"{quantity}_{axis}"
            ratio = true.numbers[name].value / as_drawn.numbers[name].value
            assert ratio == pytest.approx(scale**power, rel=TRUE), name


def test_one_hundred_per_cent_by_a_scanner_changes_no_bit(captures, measured):
    plain = measure_capture(captures[1.0])
    assert not said(measured[1.0])
    assert {n: v.value for n, v in measured[1.0].numbers.items()} == {
        n: v.value for n, v in plain.numbers.items()
    }


def test_a_resolution_that_is_none_of_a_scan_is_not_believed(captures):
    """Cameras write 72 or 300 dpi into their files."""
    capture = stated(captures[1.0], 300 / 25.4)
    found = register(capture)
    assert in_true_mm(found, capture) is found


def test_a_width_of_something_else_is_refused(captures):
    capture = captures[1.0]
    with pytest.raises(NotFitError, match="outer edge"):
        in_true_mm(register(capture), capture, true_width_mm=5.0)
    assert np.isfinite(in_true_mm(register(capture), capture, 29.3).homography).all()
