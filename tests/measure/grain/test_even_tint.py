"""What counts as one even tint."""

import numpy as np
import pytest

from dotloupe.measure.grain.even_tint import luminance


def test_luminance_is_the_weighted_sum_of_linear_colours():
    # ITU-R BT.709
    rgb = np.array([[[1.0, 0.5, 0.25]]])
    assert luminance(rgb) == pytest.approx(0.2126 + 0.7152 * 0.5 + 0.0722 * 0.25)
    assert luminance(rgb[..., 0]).tolist() == [[1.0]]
