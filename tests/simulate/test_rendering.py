"""Ink on paper: dots keep their place and volume, light obeys the closed forms."""

import numpy as np
import pytest
from scipy.special import j1

from dotloupe.simulate.paper import LUSTRE, Paper, draw_texture
from dotloupe.simulate.printer import BLACK, PRINTER_720
from dotloupe.simulate.rendering import dot_profile, ink_density, reflect, splat
from dotloupe.simulate.spectrum import fourier_grid

PIXELS_PER_MM = 160.0


def test_splat_keeps_volume_and_place() -> None:
    rng = np.random.default_rng(0)
    x, y = rng.uniform(3, 60, (2, 50)).astype(np.float32)
    volume = rng.uniform(0.5, 1.5, 50).astype(np.float32)
    field = splat(x, y, volume, (64, 64))
    assert field.sum() == pytest.approx(volume.sum(), rel=1e-5)
    assert np.arange(64) @ field.sum(axis=0) == pytest.approx(x @ volume, rel=1e-5)
    assert np.arange(64) @ field.sum(axis=1) == pytest.approx(y @ volume, rel=1e-5)


def test_dot_has_the_transfer_of_a_soft_disc() -> None:
    diameter_mm = PRINTER_720.dot_diameter_um / 1000.0
    profile = dot_profile(PRINTER_720.dot_diameter_um, PRINTER_720.dot_edge_um, PIXELS_PER_MM)
    area_px = np.pi / 4.0 * (diameter_mm * PIXELS_PER_MM) ** 2
    assert profile.sum() == pytest.approx(area_px, rel=1e-5)
    frequency = np.array([5.0, 10.0, 20.0, 30.0])
    place_mm = (np.arange(profile.shape[1]) - profile.shape[1] // 2) / PIXELS_PER_MM
    wave = np.cos(2.0 * np.pi * frequency[:, None] * place_mm)
    got = wave @ profile.sum(axis=0) / profile.sum()
    # The splat's tent, on average over where a dot falls, comes on top.
    got *= np.sinc(frequency / PIXELS_PER_MM) ** 2
    x = np.pi * diameter_mm * frequency
    sigma_mm = PRINTER_720.dot_edge_um / 1000.0
    # Closed form: transform of a disc, 2 J1(x)/x, times that of its rim's Gaussian.
    disc = 2.0 * j1(x) / x * np.exp(-2.0 * (np.pi * sigma_mm * frequency) ** 2)
    assert got == pytest.approx(disc, abs=0.003)


def test_density_starts_as_layers_and_stops_at_the_limit() -> None:
    layers = np.array([0.0, 0.01, 100.0], dtype=np.float32)
    density = ink_density(layers, BLACK)
    assert density == pytest.approx([0.0, 0.01 * 1.90, 2.9], rel=0.004, abs=1e-6)


def test_even_ink_reflects_by_its_density() -> None:
    paper = Paper(texture_rms=0.0)
    layers = np.full((160, 160), 0.3, dtype=np.float32)
    density = float(ink_density(np.float32([0.3]), BLACK)[0])
    middle = reflect([(BLACK, layers)], paper, (160, 160), PIXELS_PER_MM)[:, 80, 80]
    surface = paper.surface_reflectance
    # 0.5 mm from the border the paper's spread has brought in all but 1e-4 of what it brings.
    assert middle == pytest.approx(surface + (1.0 - surface) * 10.0**-density, abs=2e-4)


def test_dots_darken_paper_more_than_their_area() -> None:
    """Optical dot gain (Yule and Nielsen 1951): light caught under ink darkens the white."""
    layers = np.zeros((320, 320), dtype=np.float32)
    layers[:, ::8] = layers[:, 1::8] = layers[:, 2::8] = 5.0
    bare = Paper(texture_rms=0.0, surface_reflectance=0.0, coating_um=0.0)
    ink = float(10.0 ** -ink_density(np.float32([5.0]), BLACK)[0])
    by_area = 3 / 8 * ink + 5 / 8
    got = reflect([(BLACK, layers)], bare, (320, 320), PIXELS_PER_MM)[1, 120:200, 120:200].mean()
    # Lines of 50 um pitch under a spread of 40 um: near the full effect, by_area squared.
    assert (3 / 8 * ink**0.5 + 5 / 8) ** 2 - 0.01 < got < by_area - 0.15


def texture_noise_power(paper: Paper, frequency: np.ndarray) -> np.ndarray:
    """Noise power of blank paper in reflectance^2 mm^2 at radial `frequency` in cycles/mm.

    White noise through a Gaussian of standard deviation s has the autocorrelation
    exp(-r^2 / (4 s^2)), so that W(f) = 4 pi s^2 rms^2 exp(-4 pi^2 s^2 f^2).
    """
    s_mm = paper.texture_mm
    level = 4.0 * np.pi * s_mm**2 * paper.texture_rms**2
    return level * np.exp(-((2.0 * np.pi * s_mm * frequency) ** 2))


def test_texture_has_its_spectrum() -> None:
    shape = (1600, 1600)
    relief = draw_texture(LUSTRE, shape, PIXELS_PER_MM, np.random.default_rng(3))
    assert relief.std() == pytest.approx(LUSTRE.texture_rms, rel=0.05)
    power = np.abs(np.fft.rfft2(relief - 1.0)) ** 2 / (relief.size * PIXELS_PER_MM**2)
    grid = fourier_grid(shape, 0, PIXELS_PER_MM)
    radial = np.hypot(grid.fx, grid.fy)
    for low, high in ((0.3, 1.0), (1.0, 2.0), (2.0, 3.0)):
        ring = (radial > low) & (radial < high)
        expected = texture_noise_power(LUSTRE, radial[ring]).mean()
        # The ring holds some 150 to 800 independent values: 4 standard errors are 0.3 to 0.15.
        assert power[ring].mean() == pytest.approx(expected, rel=0.3)


@pytest.mark.parametrize("frequency", [0.5, 3.0, 17.0])
def test_radial_table_is_fine_enough(frequency: float) -> None:
    grid = fourier_grid((200, 300), 0, PIXELS_PER_MM)
    spread = grid.spread(lambda f: np.exp(-((f / frequency) ** 2)))
    exact = np.exp(-(np.hypot(grid.fx, grid.fy) ** 2) / frequency**2)
    assert np.abs(spread - exact).max() < 0.002
