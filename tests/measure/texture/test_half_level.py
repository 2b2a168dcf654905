"""Where a response falls to half and where coherence ends, in closed form."""

from dataclasses import replace

import numpy as np
import pytest

from dotloupe.measure.texture.half_level import HalfResponse, as_sent, half_response
from dotloupe.measure.texture.known_texture import (
    DirectionTransfer,
    RegistrationVaries,
    _cautions,
    _crossing,
    _kept,
)

FREQUENCY = np.linspace(0.25, 10.0, 40)


def direction(gain, coherence=None, frequency=FREQUENCY):
    """A transfer known to 5 %."""
    held = np.ones_like(gain) if coherence is None else coherence
    known = dict.fromkeys(DirectionTransfer.__dataclass_fields__)
    known |= {"frequency": frequency, "transfer": gain, "coherence": held}
    known |= {"transfer_low": 0.95 * gain, "transfer_high": 1.05 * gain}
    return DirectionTransfer(**known)


def gaussian(half_at, whole=0.8):
    return whole * np.exp(-np.log(2) * (FREQUENCY / half_at) ** 2)


def test_half_of_a_gaussian_response_is_at_its_mtf50_whatever_its_height():
    half = half_response(direction(gaussian(4.0)))
    value, (low, high) = half.frequency, half.interval
    # rings 0.25 cycles/mm apart, taken straight between them: the curve bends by 1e-3 there
    assert value == pytest.approx(4.0, rel=2e-3)
    # 5 % lower or higher: sqrt(1 + log2 of it) of the frequency
    assert low == pytest.approx(4.0 * np.sqrt(1 + np.log2(0.95)), rel=3e-3)
    assert high == pytest.approx(4.0 * np.sqrt(1 + np.log2(1.05)), rel=3e-3)


def test_a_response_that_stays_above_half_is_open_upward():
    assert half_response(direction(gaussian(40.0))) == HalfResponse(10.0, (10.0, np.inf))


def test_a_rising_response_is_held_against_the_mean_of_its_lowest_rings():
    gain = np.where(FREQUENCY < 5, 1 + 0.01 * FREQUENCY, 0.3)
    value = half_response(direction(gain)).frequency
    assert 4.75 < value < 5.0


def test_too_few_rings_or_too_little_in_the_picture_tell_nothing():
    assert half_response(direction(gaussian(4.0)[:4], frequency=FREQUENCY[:4])) is None
    assert half_response(direction(gaussian(4.0), np.full(40, 0.01))) is None


def test_response_above_half_to_the_end_of_what_is_held_is_a_lower_bound():
    held = np.where(FREQUENCY > 2.5, 0.0, 0.9)
    assert half_response(direction(gaussian(8.0), held)) == HalfResponse(2.5, (2.5, np.inf))


def test_what_falls_at_once_falls_at_the_first_ring():
    gain = np.r_[np.full(1, 0.01), np.geomspace(0.01, 0.001, 39)]
    noisy = replace(direction(gain), transfer_low=1e-6 * gain)
    assert half_response(noisy).interval[0] == FREQUENCY[0]


def test_pixels_of_the_file_took_their_sinc():
    sent = as_sent(direction(np.ones(40)), 300.0)
    # 300 ppi hold 5.91 cycles/mm; a pixel of 25.4/300 mm
    below = FREQUENCY < 300 / 25.4 / 2
    assert sent.transfer[below] == pytest.approx(1 / np.sinc(FREQUENCY[below] * 25.4 / 300))
    assert sent.coherence.tolist() == below.astype(float).tolist()
    assert as_sent(sent, None) is sent


def test_coherence_is_kept_up_to_where_it_falls_for_good():
    f = np.arange(1.0, 7.0)
    fell = np.array([0.9, 0.7, 0.9, 0.6, 0.2, 0.1])
    # one ring below 0.8 is chance, two are not: straight from 0.9 at 3 to 0.6 at 4
    assert _crossing(f, fell, 0.8) == pytest.approx(3 + 1 / 3)
    assert _crossing(f, np.full(6, 0.9), 0.8) == 6
    assert _crossing(f, np.full(6, 0.1), 0.8) == 0
    low, high = np.full(6, 0.1), np.full(6, 0.9)
    assert _kept(f, low, np.array([low, fell]), 0.8) == (
        None,
        (0.0, pytest.approx(3 + 1 / 3)),
        None,
    )
    assert _kept(f, high, np.array([high, fell]), 0.8) == (
        6,
        (pytest.approx(3 + 1 / 3), np.inf),
        None,
    )
    assert _cautions(0.4) == ()
    assert _cautions(0.7) == (RegistrationVaries(0.7),)
