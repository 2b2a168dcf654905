"""Places of the marks, against a drawing that lies elsewhere."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.fitness.mark_places import mark_places

from .views import PER_MM, view_of


def test_marks_that_lie_too_far_out_are_placed(drawn):
    shown = gaussian_filter(drawn, 2.0)
    larger = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, PER_MM]]) / PER_MM
    middle = np.array([15.0, 10.0])
    scale = np.array([[1 - 1e-3, 0, 1e-3 * 15], [0, 1 - 1e-3, 1e-3 * 10], [0, 0, 1]])
    edges = mark_places(view_of(shown, scale @ larger, sent_ppi=1270))
    # The homography says that all is 0.1 % smaller than it is drawn: the marks lie inward.
    inward_um = np.abs(edges.centres_mm - middle)
    assert edges.outward_um == pytest.approx(-inward_um, abs=1)
