"""Transfer of a known texture: blurs whose |H| is a closed form, out of register, under grain.

All pictures here are simulated; a blur is applied in the frequency domain, so that its |H| is
exact.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from scipy.fft import irfft2, rfft2
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.special import j1

from dotloupe.errors import RegionError
from dotloupe.measure.texture.known_texture import transfer

PX = 200.0
WHOLE, MARGIN = 900, 90
INNER = slice(MARGIN, WHOLE - MARGIN)
GAIN = 0.8
FY, FX = np.fft.fftfreq(WHOLE)[:, None], np.fft.rfftfreq(WHOLE)[None, :]


@lru_cache(maxsize=4)
def texture(seed=0):
    """Amplitude falls as 1/frequency, as in the patch."""
    white = rfft2(np.random.default_rng(seed).standard_normal((WHOLE, WHOLE)))
    radius = np.hypot(FX, FY)
    radius[0, 0] = np.inf
    field = irfft2(white / radius, s=(WHOLE, WHOLE))
    return 0.45 + 0.16 * field / field.std()


def gaussian(fx, fy, x_px=3.0, y_px=2.5):
    return np.exp(-2 * np.pi**2 * ((x_px * fx) ** 2 + (y_px * fy) ** 2))


def disc(fx, fy, radius_px=3.0):
    x = np.maximum(2 * np.pi * radius_px * np.hypot(fx, fy), 1e-9)
    return 2 * j1(x) / x


def one_sided(fx, fy, length_px=3.0, centred_px=2.0):
    """Ink that runs to one side: an exponential tail along x, within a Gaussian of 1.5 px.

    Registered by its content, the picture lies back by most of the tail's mean length.
    """
    tail = 1 / (1 + 2j * np.pi * length_px * fx)
    return gaussian(fx, fy, 1.5, 1.5) * tail * np.exp(2j * np.pi * centred_px * fx)


def captured(sent, blur=gaussian, shift=(0.0, 0.0), grain=0.01, seed=0):
    turn = np.exp(-2j * np.pi * FX * shift[0]) * np.exp(-2j * np.pi * FY * shift[1])
    seen = GAIN * irfft2(rfft2(sent) * blur(FX, FY) * turn, s=sent.shape) + 0.1
    field = gaussian_filter(np.random.default_rng(1000 + seed).standard_normal(sent.shape), 1.5)
    return seen + grain * field / field.std()


def truth(blur, frequency, axis):
    f = frequency / PX
    return GAIN * np.abs(blur(f, 0 * f) if axis == "x" else blur(0 * f, f))


@pytest.mark.parametrize(
    "blur",
    [
        gaussian,
        pytest.param(disc, marks=pytest.mark.slow),
        pytest.param(one_sided, marks=pytest.mark.slow),
    ],
)
def test_transfer_of_a_known_blur_within_two_percent(blur):
    """Where coherence exceeds 0.8, out of register by 0.15 px, mean of eight textures.

    One reading scatters by what its interval says: at coherence 0.8 by 2 % in the highest rings.
    """
    ratios = {"x": [], "y": []}
    for seed in range(8):
        sent = texture(seed)
        seen = captured(sent, blur, (0.15, -0.15), 0.002, seed)
        found = transfer(sent[INNER, INNER], seen[INNER, INNER], PX)
        for axis, kept in ratios.items():
            along = getattr(found, axis)
            true = truth(blur, along.frequency, axis)
            # Next to its first zero a disc's |H| turns within the width of a ring.
            held = (along.coherence > 0.8) & (true > 0.1 * GAIN)
            kept.append(np.where(held, along.transfer / true - 1, np.nan))
    for kept in ratios.values():
        everywhere = np.isfinite(kept).all(axis=0)
        assert everywhere.sum() > 12
        assert np.abs(np.mean(kept, axis=0)[everywhere]).max() < 0.02


@pytest.mark.slow
def test_intervals_of_transfer_hold_the_truth_under_grain():
    """Grain of 2 %: 12 captures, about 7 rings each in two directions, neighbours correlated."""
    inside = []
    for seed in range(12):
        sent = texture(seed)
        seen = captured(sent, shift=(0.15, 0.1), grain=0.02, seed=seed)
        found = transfer(sent[INNER, INNER], seen[INNER, INNER], PX)
        for axis in ("x", "y"):
            along = getattr(found, axis)
            true = truth(gaussian, along.frequency, axis)
            held = along.coherence > 0.5
            inside.append(((along.transfer_low <= true) & (true <= along.transfer_high))[held])
    share = np.concatenate(inside).mean()
    print(f"{100 * share:.1f} % of {len(np.concatenate(inside))} rings inside")
    assert 0.90 < share < 0.99


@pytest.mark.parametrize("shift", [(0.0, 0.0), (0.15, -0.15), (-0.4, 1.2)])
@pytest.mark.parametrize("blur", [gaussian, disc])
def test_error_of_registration_is_found_and_taken_out(blur, shift):
    sent = texture()
    at_rest = transfer(sent[INNER, INNER], captured(sent, blur, grain=0.002)[INNER, INNER], PX)
    seen = captured(sent, blur, shift, grain=0.002)[INNER, INNER]
    found = transfer(sent[INNER, INNER], seen, PX)
    assert found.shift_px == pytest.approx(shift, abs=0.02)
    held = at_rest.x.coherence > 0.8
    assert np.abs(found.x.transfer / at_rest.x.transfer - 1)[held].max() < 0.02


def test_misregistration_that_varies_over_the_texture_leaves_transfer_alone():
    """0.15 px rms of slow distortion would cost Re(H) 2.7 % at 0.25 cycles/px (derived)."""
    sent = texture(3)
    wander = [
        gaussian_filter(np.random.default_rng(s).standard_normal(sent.shape), 120) for s in (1, 2)
    ]
    y, x = np.mgrid[0:WHOLE, 0:WHOLE].astype(float)
    places = [y + 0.15 * wander[0] / wander[0].std(), x + 0.15 * wander[1] / wander[1].std()]
    seen = map_coordinates(captured(sent, grain=0.0), places, order=5, mode="wrap")
    found = transfer(sent[INNER, INNER], seen[INNER, INNER], PX)
    for axis in ("x", "y"):
        along = getattr(found, axis)
        true = truth(gaussian, along.frequency, axis)
        held = (along.coherence > 0.8) & (true > 0.05)
        assert np.abs(along.transfer / true - 1)[held].max() < 0.02


def test_coherence_is_the_share_of_power_that_follows_the_file():
    """White noise of known power: H^2 S / (H^2 S + N), S the power of the texture (derived)."""
    sent, sigma = texture(5), 0.02
    seen = captured(sent, grain=0.0)
    seen += sigma * np.random.default_rng(6).standard_normal(sent.shape)
    along = transfer(sent[INNER, INNER], seen[INNER, INNER], PX).x
    radius = np.hypot(FY, np.fft.fftfreq(WHOLE)[None, :])
    weight = 1 / np.where(radius == 0, np.inf, radius) ** 2
    power = 0.16**2 * WHOLE**2 * weight / weight.sum()
    f = along.frequency / PX
    at = power[0, 1] / WHOLE**2 / f**2
    signal = truth(gaussian, along.frequency, "x") ** 2 * at
    expected = signal / (signal + sigma**2)
    # Scatter of a coherence g2 over n averages: g (1 - g2) sqrt(2/n) (Bendat and Piersol, memory).
    scatter = 2 * expected * np.sqrt(1 - expected) * np.minimum(along.random_error, 1)
    averages = (1 - along.coherence) / (2 * along.random_error**2 * along.coherence.clip(1e-6))
    allowed = 4 * scatter + 4 / averages + 0.01
    assert (np.abs(along.coherence - expected) < allowed)[1:].all()
    # Detail kept is where that passes the level.
    crossing = np.interp(-0.5, -expected, along.frequency)
    assert along.kept_interval[0] < crossing < along.kept_interval[1]
    assert along.kept == pytest.approx(crossing, rel=0.05)


@pytest.mark.slow
def test_random_error_is_that_of_the_formula():
    """Scatter over 8 captures against sqrt((1 - g2)/(2 n g2)) (Bendat and Piersol, memory)."""
    sent = texture(7)
    logs, formula = [], []
    for seed in range(8):
        seen = captured(sent, grain=0.04, seed=seed)
        along = transfer(sent[INNER, INNER], seen[INNER, INNER], PX).x
        logs.append(np.log(along.transfer[:10]))
        formula.append(along.random_error[:10])
    ratio = np.sqrt(np.mean(np.var(logs, axis=0, ddof=1)) / np.mean(np.square(formula)))
    assert (
        0.7 < ratio < 1.3
    )  # scatter of 8 x 10 values, neighbours correlated, is known to about 10 %


def test_detail_is_kept_to_the_end_where_nothing_is_lost():
    sent = texture()[INNER, INNER]
    found = transfer(sent, sent, PX)
    assert found.x.kept == pytest.approx(found.x.frequency[-1])
    assert found.x.kept_interval[1] == np.inf
    assert found.x.transfer == pytest.approx(np.ones(len(found.x.transfer)), abs=1e-4)


SENT = texture()[INNER, INNER]


@pytest.mark.parametrize(
    ("sent", "seen", "says"),
    [
        (SENT, SENT[1:], "shape"),
        (SENT, texture(9)[INNER, INNER], "one picture"),
        (SENT, np.roll(SENT, 4, axis=1), "register"),
        (SENT, np.full_like(SENT, 0.5), "even"),
        (SENT, np.where(SENT > 0.6, np.nan, SENT), "not numbers"),
        (SENT[:100, :100], SENT[:100, :100], "larger region"),
    ],
)
def test_what_cannot_be_compared_is_refused(sent, seen, says):
    with pytest.raises(RegionError, match=says):
        transfer(sent, seen, PX)
