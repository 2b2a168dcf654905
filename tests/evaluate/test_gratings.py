"""A contrast patch from print to numbers, on a printer that shares nothing with the package."""

import sys
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import PRINTERS
from printers.cameras import Camera, photograph

from dotloupe import Patch, measure_capture
from dotloupe.compare.cautions import MixedKinds
from dotloupe.compare.ranking import rank
from dotloupe.measure.contrast import CellImage, field_shift_mm, fit_grating
from dotloupe.measurement import criteria_of
from dotloupe.number import CONTRAST_CRITERIA, Measurand, Quantity

CAMERA = Camera(pixels_per_mm=60.0, turn_deg=1.0)
PATCH = Patch(600, run=7, kind="contrast")


@pytest.fixture(scope="module")
def printed():
    return PRINTERS["dye_300"](PATCH, 1)


@pytest.fixture(scope="module")
def shot(printed):
    return photograph(printed, CAMERA, seed=1)


@pytest.fixture(scope="module")
def measured(shot, tmp_path_factory):
    return measure_capture(shot.to_capture(tmp_path_factory.mktemp("sound")))


def fit_on_print(printed, region):
    """Fit a grating on the print itself, without camera."""
    light = printed.cut(region.x_mm, region.y_mm, region.width_mm, region.height_mm)
    light = light @ np.array([0.2126, 0.7152, 0.0722])
    rows, columns = light.shape
    x, y = np.meshgrid(np.arange(columns) - (columns - 1) / 2, np.arange(rows) - (rows - 1) / 2)
    place = (x, y) if region.direction == "x" else (y, x)
    size = (region.width_mm, region.height_mm)[:: 1 if region.direction == "x" else -1]
    inner = tuple(s - 0.1 for s in size)
    cell = CellImage(light, *(p / printed.pixels_per_mm for p in place))
    return fit_grating(cell, region.frequency, size_mm=inner)


def test_what_is_printed_is_found_through_the_camera(printed, measured):
    """Print's own amplitude times lens and pixel (closed forms).

    In phase with a field's gratings together, as this printer's coarse raster puts each elsewhere.
    5 % of it and 1 % of what was sent leave room for noise, for the turn and for the registration;
    up to 4 lp/mm, beyond which a raster of 300 ppi beats with what is sent; and along x, as heat
    that trails along y drags dark cells out of phase.
    """
    lens = CAMERA.lens_sigma_mm
    for one in (m for m in measured.contrast if not m.ink and m.axis == "x"):
        field = [
            r
            for r in PATCH.regions.values()
            if (r.kind, r.tone, r.direction) == ("grating", one.tone, one.axis)
        ]
        true = in_phase_on_print(printed, field)
        for g in (g for g in one.gratings if g.modulation >= 0.1 and g.frequency <= 4):
            passed = np.exp(-2 * (np.pi * lens * g.frequency) ** 2) * np.sinc(g.frequency / 60)
            place = (g.frequency, g.modulation)
            expected = np.mean(true[place]) * passed
            assert g.amplitude == pytest.approx(expected, rel=0.05, abs=0.01 * g.sent), place


def in_phase_on_print(printed, field):
    """Amplitudes of both images of each grating, by frequency and modulation."""
    found = defaultdict(list)
    for number in (1, 2):
        half = [r for r in field if r.number == number]
        fits = [fit_on_print(printed, r) for r in half]
        sent = np.array([r.modulation for r in half])
        shift = field_shift_mm(fits, np.array([r.frequency for r in half]), sent)
        for r, fit in zip(half, fits, strict=True):
            turn = 2 * np.pi * r.frequency * shift
            value = fit.in_phase * np.cos(turn) - fit.quadrature * np.sin(turn)
            found[r.frequency, r.modulation].append(value)
    return found


def test_every_limit_is_a_number_and_a_criterion(measured):
    """The raster of 300 ppi ends at 5.9 lp/mm; bilinear resampling lets a little more through."""
    assert measured.fit
    for name in CONTRAST_CRITERIA:
        number = measured.numbers[name]
        assert 5.0 < number.value < 8.1, name
        assert number.low <= number.value <= number.high, name
    assert set(CONTRAST_CRITERIA) <= set(criteria_of([measured]))
    assert not set(CONTRAST_CRITERIA) & set(criteria_of([]))


def test_the_least_contrast_seen_is_given_at_two_cycles(measured):
    seen = [(m, s) for m in measured.contrast for s in m.seen if s.frequency == 2]
    assert seen
    for of, least in seen:
        name = Measurand(Quantity.LEAST_CONTRAST_SEEN, of.axis, tone=of.tone).name
        assert measured.numbers[name].value == pytest.approx(100 * least.modulation)


def test_a_print_too_grey_for_colour_is_said_in_a_line(shot, tmp_path):
    grey = shot.pixels.mean(axis=2, keepdims=True).repeat(3, axis=2).astype(shot.pixels.dtype)
    found = measure_capture(replace(shot, pixels=grey).to_capture(tmp_path))
    for axis in ("x", "y"):
        assert f"colour_detail_{axis}" not in found.numbers
        assert "\n" not in found.faults[f"colour_detail_{axis}"]
        assert f"faint_detail_dark_{axis}" in found.numbers


def test_kinds_mixed_in_one_setting_are_said(measured):
    as_detail = replace(measured.registration, patch=Patch(600, run=8))
    other = replace(measured, registration=as_detail, sha256="2", path="b", print_id="b", run=8)
    third = replace(measured, sha256="3", path="c", print_id="c", run=9)
    ranking = rank({"mixed": [measured, other], "whole": [third]})
    (mixed,) = [c for c in ranking.cautions if isinstance(c, MixedKinds)]
    assert (mixed.setting, mixed.counts) == ("mixed", (("contrast", 1), ("detail", 1)))


def test_a_part_of_a_contrast_patch_is_told_in_a_line(shot, tmp_path):
    rows, columns = shot.pixels.shape[:2]
    part = shot.pixels[: int(0.6 * rows), : int(0.6 * columns)]
    found = measure_capture(replace(shot, pixels=part).to_capture(tmp_path))
    assert found.registration.patch == PATCH
    assert not set(CONTRAST_CRITERIA) & set(found.numbers)
    (said,) = [text for name, text in found.faults.items() if name == "gratings"]
    assert "\n" not in said
