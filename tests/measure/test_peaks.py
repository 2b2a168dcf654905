"""Peaks against scipy.signal, which takes too long to import to be used where measuring starts."""

import numpy as np
import pytest
from scipy.signal import find_peaks

from dotloupe.measure.peaks import prominent_peaks


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("steps", [None, 6])
def test_the_same_peaks_as_a_reference_finds(seed, steps):
    """Smooth curves, and ones of few levels with level tops."""
    values = np.random.default_rng(seed).normal(0, 1, 300).cumsum()
    values = values if steps is None else np.round(values / steps)
    for prominence in (0.0, 0.7, 2.0):
        expected, _ = find_peaks(values, prominence=prominence)
        assert np.array_equal(prominent_peaks(values, prominence), expected)


@pytest.mark.parametrize("values", [[1.0, 1.0, 1.0], [0.0, 1.0, 2.0], [3.0]])
def test_none_where_nothing_stands_out(values):
    assert len(prominent_peaks(np.array(values), 0.0)) == 0
