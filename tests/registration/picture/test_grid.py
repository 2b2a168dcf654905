"""The rectangle that a frame and its picture share."""

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.registration.picture.grid import _largest_rectangle, _shared_rectangle


def test_the_largest_rectangle_of_a_mask():
    mask = np.zeros((6, 8), dtype=bool)
    mask[1:3, 1:7] = True  # 12
    mask[1:6, 3:5] = True  # 10
    assert _largest_rectangle(mask) == (1, 3, 1, 7)
    mask[1:6, 3:6] = True  # 15
    assert _largest_rectangle(mask) == (1, 6, 3, 6)


def test_a_frame_off_the_picture_is_refused():
    beside = np.array([[1, 0, 500.0], [0, 1, 0], [0, 0, 1]])
    with pytest.raises(RegionError) as caught:
        _shared_rectangle(beside, (100, 100), (200, 300))
    assert str(caught.value) == (
        "own picture: the frame shows next to nothing of it; move closer to it"
    )
