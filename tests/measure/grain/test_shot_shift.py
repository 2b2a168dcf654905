"""The shift between two shots."""

import numpy as np
import pytest

from dotloupe.measure.grain.shot_shift import shift_between


@pytest.mark.parametrize("shift", [(0.9, -1.2), (-1.3, 0.4)])
def test_a_shift_of_more_than_one_step_is_followed_to_its_end(shift):
    """Steps are half a pixel at most, so that the first leaves most of the way."""
    y, x = np.mgrid[:128, :128].astype(float)
    rng = np.random.default_rng(3)
    one, other = np.zeros((2, 128, 128))
    for fx, fy, phase in rng.uniform(-1, 1, (200, 3)) * (0.15, 0.15, np.pi):
        one += np.cos(2 * np.pi * (fx * x + fy * y) + phase)
        other += np.cos(2 * np.pi * (fx * (x - shift[0]) + fy * (y - shift[1])) + phase)
    # the window does not move with the picture and holds it back by up to 7 % here
    assert shift_between(one, other).shift_px == pytest.approx(shift, abs=0.1)
