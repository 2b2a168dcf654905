"""Which sent ppi stand out from the trend."""

import numpy as np

from dotloupe.compare.ladder.outstanding import departures


def test_of_five_points_the_one_that_stands_out_is_named_alone():
    """With it left out four are left, too few to hold any other against the rest."""
    ppi = np.array([240.0, 300, 450, 600, 1200])
    true = np.log(5 * (1 + (150 / ppi) ** 2) ** -0.5)
    errors = np.full(5, 0.002)
    planted = true + np.log(1.10) * (ppi == 450)
    found = departures(ppi, planted, errors, 10.0)
    assert [d.outstanding for d in found] == [False, False, True, False, False]
    assert found[2].low < 10 < found[2].high
    assert not any(d.outstanding for d in departures(ppi, true, errors, 10.0))
    assert departures(ppi[:4], true[:4], errors[:4], 10.0) == ()
