"""A printer whose directions differ, fed both ways: x and y follow it and not the patch."""

import numpy as np
import pytest
from printers import PRINTERS
from printers.cameras import Camera, photograph

from dotloupe import Patch, measure_capture
from dotloupe.evaluate import fed_turned
from dotloupe.number import Quantity

UNLIKE = "dye_300"
"""Its heat trails along y."""
COMPARED = (Quantity.DETAIL, Quantity.LINE_PAIRS, Quantity.TEXTURE_KEPT, Quantity.RESPONSE)


@pytest.fixture(scope="module")
def both_ways(tmp_path_factory):
    """The patch measured as it lies, and fed turned as it lies."""
    patch, printer = Patch(600, run=3), PRINTERS[UNLIKE]
    folder = tmp_path_factory.mktemp("fed")
    upright = patch.reflectance()
    found = []
    for turns in (0, 1):
        printed = printer.print_drawing(np.rot90(upright, turns), patch.sent_ppi, seed=5)
        shot = photograph(printed, Camera(pixels_per_mm=90.0), seed=7 + turns)
        found.append(measure_capture(shot.to_capture(folder)))
    return found


def overlap(one, two):
    return one.low <= two.high and two.low <= one.high


def test_x_and_y_are_the_printers_both_ways(both_ways):
    straight, turned = both_ways[0], fed_turned(both_ways[1])
    names = [n for n, number in straight.numbers.items() if number.measurand.quantity in COMPARED]
    assert {"detail_x", "detail_y", "line_pairs_x", "line_pairs_y"} <= set(names)
    for name in names:
        assert overlap(straight.numbers[name], turned.numbers[name]), name
    # taken for the patch's, they would be unlike
    assert not overlap(straight.numbers["detail_x"], both_ways[1].numbers["detail_x"])


def test_all_that_is_kept_by_direction_is_exchanged(both_ways):
    as_it_lies = both_ways[1]
    turned = fed_turned(as_it_lies)
    assert turned.numbers.keys() == as_it_lies.numbers.keys()
    assert turned.parameters.fed_turned
    for one, other in (("x", "y"), ("y", "x")):
        assert turned.limits[one] is as_it_lies.limits[other]
        assert turned.bars[one] is as_it_lies.bars[other]
        assert turned.placement[one] is as_it_lies.placement[other]
        assert turned.response[one] is as_it_lies.response[other]
        assert turned.directions[f"detail_{one}"] is as_it_lies.directions[f"detail_{other}"]
        assert (
            turned.directions[f"detail_dark_{one}"]
            is (as_it_lies.directions[f"detail_dark_{other}"])
        )
        number = turned.numbers[f"raggedness_{one}"]
        assert number.measurand.axis == one
        assert number.value == as_it_lies.numbers[f"raggedness_{other}"].value
    assert turned.texture.x is as_it_lies.texture.y
    before, after = (m.registration.patch.regions for m in (as_it_lies, turned))
    assert all(after[n].direction != r.direction for n, r in before.items() if r.direction)
    assert all(after[n].corners_mm == r.corners_mm for n, r in before.items())


def test_said_twice_is_said_once(both_ways):
    turned = fed_turned(both_ways[1])
    assert fed_turned(turned) is turned
