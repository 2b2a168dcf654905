"""Parts of a spectrum's error and band that whole measurements barely show, in closed form."""

import numpy as np
import pytest

from dotloupe.measure.grain.noise_spectrum import _fill_lost, noise_spectrum
from dotloupe.measure.grain.ring_spectrum import integrate, misplaced, multiplied


def test_a_shift_known_to_an_error_costs_half_its_squared_phase():
    """1 - cos p is p^2 / 2 for small p = 2 pi f e; more than all of the power it cannot cost."""
    field = 0.5 + 0.01 * np.random.default_rng(0).standard_normal((128, 128))
    rings = noise_spectrum(field, 20.0).rings
    moved = misplaced(rings, 0.01)
    phase = 2 * np.pi * rings.frequency * 0.01
    error = np.sqrt(np.maximum(moved.systematic**2 - rings.systematic**2, 0))
    assert error == pytest.approx(rings.power * np.minimum(phase**2 / 2, 1), rel=1e-5, abs=1e-15)
    assert moved.power == pytest.approx(rings.power)
    far = misplaced(rings, 1.0)
    assert np.hypot(rings.systematic, rings.power)[-1] == pytest.approx(far.systematic[-1])


NOISE = 0.5 + 0.02 * np.random.default_rng(0).standard_normal((128, 128))


def test_the_radius_of_a_spectrum_is_its_distance_from_no_frequency():
    spectrum = noise_spectrum(NOISE, 20.0)
    at = spectrum.radius[3, 4]
    assert at == pytest.approx(np.hypot(spectrum.frequency_y[3], spectrum.frequency_x[4]))
    assert spectrum.radius[0, 0] == 0


SINGLE = 1e-5


def noise(seed, size=128):
    return 0.01 * np.random.default_rng(seed).standard_normal((size, size))


def test_twice_the_grain_is_four_times_the_power_in_all_that_follows_from_it():
    both = noise(1)
    shots = [both + 0.5 * noise(seed) for seed in (2, 3)]
    once, twice = (
        noise_spectrum(k * shots[0], 20.0, second_shot=k * shots[1]).rings for k in (1.0, 2.0)
    )
    four = multiplied(once, np.full_like(once.power, 4.0))
    for name in ("power", "measured", "print_square", "noise_square"):
        expected = getattr(twice, name)
        bound = SINGLE * np.abs(expected).max()
        assert getattr(four, name) == pytest.approx(expected, rel=1e-4, abs=bound), name
    ends, fourfold = integrate(once).interval, integrate(four).interval
    assert fourfold == pytest.approx([4 * end for end in ends])


def test_what_a_trend_emptied_is_filled_from_the_ring_around_it():
    """Lost within two steps of zero: what lies up to 1.6 times as far and half a step counts."""
    y, x = np.mgrid[-8:9, 0:9].astype(float)
    radius = np.roll(np.hypot(y, x), 9, axis=0)  # zero frequency first, as a transform has it
    ring = (radius > 2) & (radius <= 3.7)
    power = np.where(ring, 1 + radius, 100.0)
    common, total = power.copy(), 2 * power
    _fill_lost(common, total, np.where(radius <= 2, 1e-6, 1.0), radius)
    assert common[radius <= 2] == pytest.approx(1 + radius[ring].mean())
    assert total[radius <= 2] == pytest.approx(2 + 2 * radius[ring].mean())
    assert np.array_equal(common[radius > 2], power[radius > 2])
