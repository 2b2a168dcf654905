"""Parts of a spectrum's error and band that whole measurements barely show, in closed form."""

import numpy as np
import pytest

from dotloupe.measure.grain.noise_spectrum import noise_spectrum
from dotloupe.measure.grain.ring_spectrum import misplaced


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
