"""What must hold of every measurement, whatever the picture: derived, checked on drawn examples.

Light may be brighter, the picture mirrored, turned on its diagonal or moved by whole pixels;
Gaussian blurs add in squares; powers of grain add.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings, strategies as st
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr

from dotloupe.measure.bars.line_pairs import line_pairs
from dotloupe.measure.edge.slanted import slanted_edge
from dotloupe.measure.grain.tint_grain import grain

PX = 100.0
GAUSSIAN_MTF50 = 0.18739
"""MTF50 times sigma of a Gaussian (closed form)."""
few = settings(max_examples=8, phases=[Phase.explicit, Phase.generate])
SINGLE = 1e-6
"""Spectra are summed in single precision: relative to their largest value this much is rounding."""

brightness = st.floats(0.4, 1.25)
seeds = st.integers(0, 10**6)
sigmas_px = st.floats(1.0, 3.0)
tilts_deg = st.floats(3.0, 10.0)
flips = st.sampled_from(("rows", "columns", "both"))


def edge(sigma_px, tilt_deg, noise=0.0, seed=0, shift_px=(0, 0)):
    """Gaussian edge of 4:1, cut out of an endless one at whole pixels."""
    y = np.arange(90)[:, None] - 45.0 + shift_px[1]
    x = np.arange(110)[None, :] - 55.3 + shift_px[0]
    tilt = np.radians(tilt_deg)
    light = 0.2 + 0.6 * ndtr((x * np.cos(tilt) - y * np.sin(tilt)) / sigma_px)
    return light + noise * np.random.default_rng(seed).standard_normal(light.shape)


def tint(seed, side_px=200, size_px=1.5, strength=0.02):
    field = gaussian_filter(np.random.default_rng(seed).standard_normal((side_px,) * 2), size_px)
    field -= field.mean()
    return strength * field / field.std()


def bars(frequency, seed=0, shift_px=(0, 0), size=(150, 170), noise=0.01):
    """Five upright bars under a Gaussian blur of 10 um."""
    x = (np.arange(size[1]) - (size[1] - 1) / 2 + shift_px[0])[None, :] / PX
    y = (np.arange(size[0]) - (size[0] - 1) / 2 + shift_px[1])[:, None] / PX
    ink = np.zeros((1, size[1]))
    for centre in (np.arange(5) - 2) / frequency:
        ink = ink + ndtr((x - centre + 0.25 / frequency) / 0.01)
        ink = ink - ndtr((x - centre - 0.25 / frequency) / 0.01)
    ink = ink * (ndtr((y + 0.5) / 0.01) - ndtr((y - 0.5) / 0.01))
    return 1 - 0.8 * ink + noise * np.random.default_rng(seed).standard_normal(size)


def flipped(picture, how):
    rows = slice(None, None, -1) if how in ("rows", "both") else slice(None)
    columns = slice(None, None, -1) if how in ("columns", "both") else slice(None)
    return picture[rows, columns]


def edge_numbers(response):
    return np.array(
        [response.mtf50, response.mtf10, response.rise_um, abs(response.edge_angle_deg)]
    )


def grain_numbers(found):
    return np.array([found.graininess, found.mottle, found.tile_graininess, found.rms_granularity])


class TestEdge:
    @few
    @given(sigmas_px, tilts_deg, brightness, seeds)
    def test_brightness_changes_nothing(self, sigma, tilt, times, seed):
        picture = edge(sigma, tilt, 0.01, seed)
        plain, scaled = slanted_edge(picture, PX), slanted_edge(times * picture, PX)
        np.testing.assert_allclose(edge_numbers(scaled), edge_numbers(plain), rtol=1e-4)

    @few
    @given(sigmas_px, tilts_deg, flips, seeds)
    def test_flips_change_nothing(self, sigma, tilt, how, seed):
        picture = edge(sigma, tilt, 0.01, seed)
        plain, turned = slanted_edge(picture, PX), slanted_edge(flipped(picture, how), PX)
        np.testing.assert_allclose(edge_numbers(turned), edge_numbers(plain), rtol=1e-3)

    @few
    @given(sigmas_px, tilts_deg, seeds)
    def test_transposition_swaps_the_direction_alone(self, sigma, tilt, seed):
        picture = edge(sigma, tilt, 0.01, seed)
        upright, lying = slanted_edge(picture, PX), slanted_edge(picture.T, PX)
        assert (upright.runs, lying.runs) == ("vertical", "horizontal")
        np.testing.assert_allclose(edge_numbers(lying), edge_numbers(upright), rtol=1e-6)

    @few
    @given(sigmas_px, tilts_deg, st.integers(-8, 8), st.integers(-8, 8))
    def test_whole_pixels_change_nothing(self, sigma, tilt, right, down):
        plain = slanted_edge(edge(sigma, tilt), PX)
        moved = slanted_edge(edge(sigma, tilt, shift_px=(right, down)), PX)
        # Without noise; the window ends elsewhere on the plateaus.
        np.testing.assert_allclose(edge_numbers(moved), edge_numbers(plain), rtol=2e-3)

    @few
    @given(st.floats(1.0, 2.0), tilts_deg, st.floats(0.8, 2.5))
    def test_gaussian_blurs_add_in_squares(self, first, tilt, second):
        plain = slanted_edge(edge(first, tilt), PX)
        blurred = gaussian_filter(edge(first, tilt), second, mode="nearest")[8:-8, 8:-8]
        softer = slanted_edge(blurred, PX)
        assert softer.mtf50 < plain.mtf50
        # The filter's own sampling costs 0.5 % at a sigma of half a pixel, and nothing from 0.8 on.
        expected = GAUSSIAN_MTF50 * PX / np.hypot(first, second)
        assert softer.mtf50 == pytest.approx(expected, rel=1e-3)


class TestGrain:
    @few
    @given(seeds, seeds, st.floats(0.2, 1.0))
    def test_powers_add(self, one, other, share):
        """|A + B|^2 + |A - B|^2 = 2 (|A|^2 + |B|^2), so chance plays no part."""
        a, b = tint(one), share * tint(other + 10**7, size_px=2.5)
        power = {
            name: grain(0.5 + field, PX).noise_power
            for name, field in (("a", a), ("b", b), ("sum", a + b), ("difference", a - b))
        }
        whole = power["sum"] + power["difference"]
        parts = 2 * (power["a"] + power["b"])
        np.testing.assert_allclose(whole, parts, rtol=0, atol=SINGLE * parts.max())

    @few
    @given(seeds, brightness)
    def test_brightness_changes_no_density(self, seed, times):
        plain, scaled = grain(0.5 + tint(seed), PX), grain(times * (0.5 + tint(seed)), PX)
        np.testing.assert_allclose(grain_numbers(scaled), grain_numbers(plain), rtol=1e-6)
        power = times**2 * plain.noise_power
        np.testing.assert_allclose(scaled.noise_power, power, rtol=0, atol=SINGLE * power.max())

    @few
    @given(seeds, flips, st.booleans())
    def test_flips_and_transposition_change_nothing(self, seed, how, transposed):
        picture = 0.5 + tint(seed)
        turned = flipped(picture.T if transposed else picture, how)
        plain, other = grain(picture, PX), grain(turned, PX)
        np.testing.assert_allclose(grain_numbers(other), grain_numbers(plain), rtol=1e-6)
        assert other.visual_graininess == pytest.approx(plain.visual_graininess, rel=1e-6)

    @few
    @given(seeds, st.floats(1.05, 3.0))
    def test_stronger_grain_is_more_by_as_much(self, seed, times):
        plain, strong = grain(0.5 + tint(seed), PX), grain(0.5 + times * tint(seed), PX)
        np.testing.assert_allclose(grain_numbers(strong), times * grain_numbers(plain), rtol=1e-6)


class TestLinePairs:
    frequencies = st.sampled_from((4.0, 5.04, 6.35, 8.0, 10.08))

    @few
    @given(frequencies, seeds, brightness)
    def test_brightness_changes_nothing(self, frequency, seed, times):
        picture = bars(frequency, seed)
        plain, scaled = (line_pairs(p, PX, frequency) for p in (picture, times * picture))
        assert scaled.contrast == pytest.approx(plain.contrast, abs=1e-5)
        assert (scaled.resolved, scaled.bars_found) == (plain.resolved, plain.bars_found)

    @few
    @given(frequencies, seeds, flips, st.booleans())
    def test_flips_and_transposition_change_nothing(self, frequency, seed, how, transposed):
        picture = bars(frequency, seed)
        plain = line_pairs(picture, PX, frequency)
        turned = flipped(picture.T if transposed else picture, how)
        way = "horizontal" if transposed else "vertical"
        other = line_pairs(turned, PX, frequency, bars=way)
        # The fit stops where it is near enough; intervals here span 0.0012 to 0.0046.
        assert other.contrast == pytest.approx(plain.contrast, abs=5e-4)
        assert (other.resolved, other.bars_found) == (plain.resolved, plain.bars_found)

    @few
    @given(frequencies, st.integers(-3, 3), st.integers(-3, 3))
    def test_whole_pixels_change_nothing(self, frequency, right, down):
        plain = line_pairs(bars(frequency, noise=0), PX, frequency)
        moved = line_pairs(bars(frequency, shift_px=(right, down), noise=0), PX, frequency)
        assert moved.contrast == pytest.approx(plain.contrast, abs=2e-3)
        assert (moved.resolved, moved.bars_found) == (plain.resolved, plain.bars_found)
