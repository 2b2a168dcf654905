"""A camera's response in the forms that it may be given in."""

from types import SimpleNamespace

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import camera_curve


@pytest.mark.parametrize(
    "form", [list, lambda pair: SimpleNamespace(frequency=pair[0], mtf=pair[1])]
)
def test_a_cameras_curve_has_many_forms(form):
    pair = (np.linspace(0, 10, 11), np.linspace(1, 0.5, 11))
    known = camera_curve(pair)
    assert np.array_equal(camera_curve(form(pair)).mtf, known.mtf)
    assert camera_curve(known) is known
    assert camera_curve(known) is known
    assert known.reach == 10
    with pytest.raises(RegionError) as caught:
        camera_curve("sharp")
    assert str(caught.value) == (
        "camera_mtf must be a pair (frequency in cycles/mm, mtf), or an object with .frequency "
        "and .mtf"
    )
