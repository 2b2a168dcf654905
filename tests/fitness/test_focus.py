"""Places of the patch, as a finding on focus names them."""

import numpy as np

from dotloupe.fitness.focus import LEAST_EDGE_UM, _mark_extra_um2, place_name
from dotloupe.fitness.mark_blur import MarkEdges


def test_names_of_places():
    size = (30.0, 20.0)
    names = [place_name(np.array(p), size) for p in ((1, 1), (29, 19), (15, 1), (1, 10), (15, 10))]
    assert names == ["upper left corner", "lower right corner", "upper edge", "left side", "middle"]


def test_marks_sharper_than_what_the_pixels_sent_take_off():
    """Variances below zero: the printer's raster hides how sharp the marks are."""
    variance = np.array([[-300.0, -250.0], [-200.0, -220.0], [900.0, 800.0], [100.0, 50.0]])
    none = np.zeros((4, 2))
    edges = MarkEdges(("a", "b", "c", "d"), none, variance, none, np.abs(variance))
    extra, least = _mark_extra_um2(edges)
    assert least == LEAST_EDGE_UM
    assert extra.argmax() == 2
    # against the mean of the sharper two of each direction, -250 and -235
    assert extra[2] == 800.0 + 235.0
