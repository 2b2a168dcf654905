"""The data that all rooms speak: numbers with what their intervals rest on, and their names."""

import numpy as np
import pytest
from scipy.stats import t

from dotloupe.compare.prints import sample
from dotloupe.measure.camera_mtf import camera_curve
from dotloupe.measure.edge.slanted import slanted_edge
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.measurement import Measurement, PatchMeasurement, measurands
from dotloupe.number import CRITERIA, Measurand, Number, Quantity

DETAIL = Measurand(Quantity.DETAIL, "x")
STUDENT_8 = t.ppf(0.975, 8)


def shot(number, *, kind=Measurement, **results):
    header = ("a.jpg", "hash", "a", 1, 600.0, True, (), ())
    return kind(*header, {number.measurand.name: number}, **results)


def edge(error=0.1):
    """An MTF50 whose interval is Student's on 8 degrees of freedom."""
    half = STUDENT_8 * error
    return Number(5.0, 5.0 - half, 5.0 + half, "cycles/mm", DETAIL, Uncertainty(error, 8))


def test_a_print_takes_the_standard_error_that_was_measured():
    """By 1.96 it would be 18 % too much."""
    (value,) = sample("a", [shot(edge(0.1))], "detail_x").prints
    assert value.standard_error == 0.1


def test_without_degrees_an_interval_counts_as_normal():
    assert Number(1.0, 0.9, 1.1, "um").uncertainty == Uncertainty(pytest.approx(0.1 / 1.959964))
    assert Number(1.0, 0.9, np.inf, "um").uncertainty is None


def test_the_cameras_error_is_that_of_its_edge():
    """The interval of an edge is 2.306 standard errors to either side: 8 degrees of freedom."""
    x, y = np.meshgrid(np.arange(120) - 59.5, np.arange(160) - 79.5)
    light = 0.1 + 0.8 / (1 + np.exp(-(x + 0.087 * y) / 1.5))
    light += 0.01 * np.random.default_rng(1).standard_normal(light.shape)
    camera = slanted_edge(light, 100.0)
    curve = camera_curve(camera)
    assert STUDENT_8 * curve.error == pytest.approx(camera.mtf_high - camera.mtf)


def test_a_name_is_formed_of_quantity_ink_tone_and_axis():
    assert Measurand(Quantity.OFFSET, "x", ink="cyan").name == "offset_cyan_x"
    assert Measurand(Quantity.VISUAL_GRAININESS, tone="grey80").name == "visual_graininess_grey80"
    assert [c.name for c in CRITERIA.values()] == list(CRITERIA)


def test_measurands_are_found_once_each_and_in_order():
    cyan, detail = Number(1, 0, 2, "um", Measurand(Quantity.OFFSET, "x", ink="cyan")), edge()
    shots = [shot(detail), shot(cyan), shot(cyan), shot(detail)]
    assert measurands(shots, Quantity.OFFSET, Quantity.DETAIL) == [DETAIL, cyan.measurand]
    assert measurands(shots, Quantity.OFFSET) == [cyan.measurand]


def test_bare_numbers_keep_what_is_written_and_drop_what_it_was_formed_from():
    whole = shot(edge(), kind=PatchMeasurement, faults={"edge_mid_x_1": "clipped"})
    assert whole.bare().to_dict() == whole.to_dict()
    assert whole.bare().faults == {}
    assert type(whole.bare()) is Measurement
