"""Places of the patch, as a finding on focus names them."""

import numpy as np

from dotloupe.fitness.focus import place_name


def test_names_of_places():
    size = (30.0, 20.0)
    names = [place_name(np.array(p), size) for p in ((1, 1), (29, 19), (15, 1), (1, 10), (15, 10))]
    assert names == ["upper left corner", "lower right corner", "upper edge", "left side", "middle"]
