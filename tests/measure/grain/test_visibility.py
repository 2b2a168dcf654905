"""From how far grain is seen, and how well that is known."""

import numpy as np
import pytest

from dotloupe.measure.grain.noise_spectrum import noise_spectrum
from dotloupe.measure.grain.ring_spectrum import integrate
from dotloupe.measure.grain.visibility import _band_error, _seen_to


def noise(seed, size=128):
    return 0.01 * np.random.default_rng(seed).standard_normal((size, size))


def test_the_error_of_a_channel_is_that_of_an_octave_about_its_middle():
    rings = noise_spectrum(noise(5), 20.0).rings
    for centre in (0.5, 2.0, 6.0):
        octave = (rings.frequency >= centre / 2**0.5) & (rings.frequency <= centre * 2**0.5)
        found = integrate(rings, octave.astype(float))
        for end in (0, 1):
            expected = np.sqrt(found.interval[end] / found.value)
            assert _band_error(rings, centre, end) == pytest.approx(expected)
    # of an octave below all that was measured the lowest ring tells
    nearest = rings.frequency[rings.frequency > 0].min()
    lowest = (rings.frequency == nearest).astype(float)
    found = integrate(rings, lowest)
    expected = np.sqrt(found.interval[1] / found.value)
    assert _band_error(rings, 1e-3, 1) == pytest.approx(expected)


def test_what_is_seen_from_farthest_is_said_of_there_and_no_farther():
    distances = np.array([100.0, 200.0, 400.0])
    assert _seen_to(distances, np.array([4.0, 2.0, 1.5])) == 400.0
    # strength falls as a power of the distance between samples
    assert _seen_to(distances, np.array([4.0, 2.0, 0.5])) == pytest.approx(200 * 2**0.5)
    assert _seen_to(distances, np.array([0.9, 0.5, 0.1])) == 0.0
