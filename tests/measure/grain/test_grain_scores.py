"""Scores of grain against closed forms and against direct counting in the pixels."""

from __future__ import annotations

import numpy as np
import pytest

from dotloupe.measure.grain.noise_spectrum import noise_spectrum
from dotloupe.measure.grain.scores import (
    aperture_transfer,
    box_power,
    rms_granularity,
    tile_graininess,
    tile_mottle,
)
from dotloupe.measure.grain.tint_grain import grain


def white_rings(side_px, pixels_per_mm, seed, deviation=0.05):
    field = 0.5 + deviation * np.random.default_rng(seed).standard_normal((side_px, side_px))
    return noise_spectrum(field.astype(np.float32), pixels_per_mm).rings


def test_aperture_transfer_is_that_of_a_disc(outside_check):
    # First zero at 1.2197/d (derived), and 0.5 of the modulation at 0.7048/d (tables of J1).
    claim = "transfer of a 48 um aperture at 0, its zero and its half"
    ours = aperture_transfer([0, 25.41, 14.68], 48)
    outside_check(claim, "closed form, J1", [1, 0, 0.5], ours, abs=1e-3)


def test_box_power_averages_over_directions():
    frequency = np.array([0.0, 3.0, 11.0, 20.0])
    angles = np.linspace(0, 2 * np.pi, 3601)[:-1]
    around = [
        np.mean((np.sinc(0.0423 * f * np.cos(angles)) * np.sinc(0.0423 * f * np.sin(angles))) ** 2)
        for f in frequency
    ]
    np.testing.assert_allclose(box_power(frequency, 0.0423), around, atol=1e-4)


def test_selwyn_law(outside_check):
    # Selwyn: for white grain sigma times the root of the aperture's area is constant, here the
    # root of the noise power. Each aperture d where the sampling holds its outer lobes: above a
    # frequency F lie 2/(pi^2 d F) of the power, so d F is 5 at least (2 % of the deviation).
    density = 0.4343 / 0.5
    scales = ((1016, 80.0, (140, 200)), (1000, 250.0, (50, 100)), (1000, 1000.0, (20, 30)))
    for side_px, pixels_per_mm, apertures in scales:
        rings = [white_rings(side_px, pixels_per_mm, seed) for seed in (0, 1, 2)]
        expected = 1000 * density * 0.05 / pixels_per_mm
        for aperture in apertures:
            area = np.pi * (aperture / 2000) ** 2
            got = np.mean([rms_granularity(r, 0.5, aperture).value for r in rings])
            claim = f"granularity of white grain times root of area, {aperture} um aperture"
            outside_check(claim, "Selwyn's law", expected, got * np.sqrt(area), rel=0.02)


def test_granularity_of_dense_grains(outside_check):
    # Nutting and Siedentopf (from memory): 1 um^2 grains, D = 1, 48 um aperture give 15.49. The
    # formula is sigma_D^2 A = 0.4343 a D, so the noise power in reflectance is (ln 10 R)^2 times
    # that: white below the aperture's frequencies. 3.2 mm of it, three seeds.
    mean = 0.1
    power = 0.4343 * 1e-6 * 1.0 * (np.log(10) * mean) ** 2
    pixels_per_mm = 250.0
    got = [
        rms_granularity(
            white_rings(800, pixels_per_mm, seed, np.sqrt(power) * pixels_per_mm), mean
        ).value
        for seed in range(3)
    ]
    claim = "granularity of grains of 1 um2 at density 1, 48 um aperture"
    outside_check(claim, "Nutting and Siedentopf", 15.49, np.mean(got), rel=0.02, memory=True)


def test_tile_scores_are_what_counting_cells_gives(outside_check):
    # ISO/IEC 13660 (from memory) by direct counting: cells of 42.3 um, 30 x 30 to a tile of
    # 1.27 mm, on coloured noise. The density of a cell is taken about the mean; the deviation is
    # 2 % of it, so the curvature of the logarithm is of no account.
    cells, per_cell = 300, 4
    n = cells * per_cell
    rng = np.random.default_rng(3)
    frequency = np.hypot(np.fft.fftfreq(n)[:, None], np.fft.rfftfreq(n)[None, :])
    shape = 1 / np.sqrt(1 + (frequency * n / 20) ** 2) * np.exp(-((frequency / 0.08) ** 2))
    noise = np.fft.irfft2(np.fft.rfft2(rng.standard_normal((n, n))) * shape, (n, n))
    field = 0.5 * (1 + 0.02 * noise / noise.std())
    pixels_per_mm = per_cell / 0.0423
    rings = noise_spectrum(field, pixels_per_mm).rings

    density = -np.log10(field.reshape(cells, per_cell, cells, per_cell).mean(axis=(1, 3)))
    tiles = density.reshape(10, 30, 10, 30)
    counted = np.sqrt(np.mean(tiles.var(axis=(1, 3))))
    between = np.std(tiles.mean(axis=(1, 3)), ddof=1)
    # same field, but tapered: 1 % for the 90,000 cells; 100 tiles against a spectrum: 10 %
    for name, value, ours, rel in (
        ("graininess", counted, tile_graininess(rings, 0.5).value, 0.015),
        ("mottle", between, tile_mottle(rings, 0.5).value, 0.15),
    ):
        claim = f"{name} against counting cells of 42.3 um in the pixels"
        outside_check(claim, "ISO/IEC 13660", value, ours, rel=rel, memory=True)


@pytest.mark.parametrize("angle_deg", [0, 90, 45])
@pytest.mark.parametrize(("ripple", "lands_in"), [(0.2, "mottle"), (2.0, "graininess")])
def test_ripples_land_on_their_side(ripple, lands_in, angle_deg):
    # 0.4 cycles/mm parts the two (ISO/IEC 24790 terms). 1 % of reflectance, 12.7 mm.
    pixels_per_mm, n = 30.0, 381
    y, x = np.mgrid[:n, :n] / pixels_per_mm
    along = x * np.cos(np.radians(angle_deg)) + y * np.sin(np.radians(angle_deg))
    field = 0.5 + 0.01 * np.sin(2 * np.pi * ripple * along + 0.7)
    result = grain(field, pixels_per_mm)
    amplitude = 0.01 / np.sqrt(2) * 0.4343 / 0.5
    other = "graininess" if lands_in == "mottle" else "mottle"
    # the 42.3 um cell itself takes 1.2 % off at 2 cycles/mm (sinc)
    cell = np.sinc(0.0423 * ripple) if lands_in == "graininess" else 1.0
    assert getattr(result, lands_in) == pytest.approx(amplitude * cell, rel=0.01)
    assert getattr(result, other) < 0.02 * amplitude


def test_ripple_stays_on_its_side_in_grain_too():
    pixels_per_mm, n = 30.0, 381
    x = np.arange(n) / pixels_per_mm
    noise = 0.002 * np.random.default_rng(5).standard_normal((n, n))
    plain = grain(0.5 + noise, pixels_per_mm)
    rippled = grain(0.5 + noise + 0.01 * np.sin(2 * np.pi * 0.2 * x)[None, :], pixels_per_mm)
    added = 0.01 / np.sqrt(2) * 0.4343 / 0.5
    assert np.hypot(plain.mottle, added) == pytest.approx(rippled.mottle, rel=0.01)
    assert rippled.graininess == pytest.approx(plain.graininess, abs=0.02 * added)
