"""The parts of an examination, each against what is known of its input."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.capture.capture import Capture
from dotloupe.capture.paper_level import Lighting
from dotloupe.fitness.focus import place_name
from dotloupe.fitness.mark_blur import drawn_variance, mark_edges
from dotloupe.fitness.processing import NOISE_RISE, block_step, noise_rise
from dotloupe.fitness.sheet_position import lie_of_sheet
from dotloupe.fitness.tint_spectra import grain_spectra
from dotloupe.patch.patch import Patch
from dotloupe.registration.registration import Registration
from dotloupe.registration.view import View
from dotloupe.simulate import Camera, Shot
from dotloupe.simulate.camera import view as simulated_view

PER_MM = 50.0
CURVE = np.linspace(0, 1, 65536, dtype=np.float32)
EVEN = Lighting(np.zeros((10, 3)), (0.0, 0.0), 1.0, 0.0, 0.0)
SHARP_PPI = PER_MM * 25.4
"""A patch drawn at the sampling of the capture: its pixels are the capture's."""


def view_of(light, homography=None, sent_ppi=600):
    """A view of green light that lies on the patch by a homography, or square at 50 pixels/mm."""
    pixels = np.round(np.clip(light, 0, 1) * 65535).astype(np.uint16)
    pixels = np.broadcast_to(pixels[..., None], (*light.shape, 3))
    capture = Capture("a.tif", "", pixels, CURVE, np.ones(3))
    if homography is None:
        homography = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, PER_MM]]) / PER_MM
    patch = Patch(sent_ppi, 3)
    registration = Registration(homography, PER_MM, 1.0, 0.05, patch, run=3, sent_ppi=sent_ppi)
    return View(capture, registration, patch, EVEN)


@pytest.fixture(scope="module")
def drawn():
    return Patch(600, 3).reflectance(SHARP_PPI)[..., 1] * 0.8


@pytest.mark.parametrize("sigma_um", [25.0, 40.0, 60.0])
def test_blur_of_the_marks_is_read(drawn, sigma_um):
    edges = mark_edges(view_of(gaussian_filter(drawn, sigma_um / 1000 * PER_MM), sent_ppi=1270))
    # The steps of a drawing at 1270 ppi, whose pixels are the capture's, are taken out, and a
    # Gaussian sampled and summed up is narrower than itself by the variance of a pixel.
    assert edges.variance_um2 == pytest.approx(sigma_um**2 - 20**2 / 12, rel=0.02)
    assert np.abs(edges.outward_um).max() < 1.0


def test_blur_in_one_direction_only(drawn):
    edges = mark_edges(view_of(gaussian_filter(drawn, (1.0, 3.0)), sent_ppi=1270))
    assert edges.variance_um2[:, 0] == pytest.approx(60**2 - 20**2 / 12, rel=0.02)
    assert edges.variance_um2[:, 1] == pytest.approx(20**2 - 20**2 / 12, rel=0.02)


def test_marks_that_lie_too_far_out_are_placed(drawn):
    shown = gaussian_filter(drawn, 2.0)
    larger = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, PER_MM]]) / PER_MM
    middle = np.array([15.0, 10.0])
    scale = np.array([[1 - 1e-3, 0, 1e-3 * 15], [0, 1 - 1e-3, 1e-3 * 10], [0, 0, 1]])
    edges = mark_edges(view_of(shown, scale @ larger, sent_ppi=1270))
    # The homography says that all is 0.1 % smaller than it is drawn: the marks lie inward.
    inward_um = np.abs(edges.centres_mm - middle)
    assert edges.outward_um == pytest.approx(-inward_um, abs=1)


def test_steps_of_a_drawn_edge():
    """Variance of two steps c and 1 - c one pixel apart (closed form)."""
    assert drawn_variance(np.array([0.25]), 1.0) == pytest.approx(0.25 * 0.75)
    assert drawn_variance(np.array([3.0]), 1.0) == pytest.approx(0.0)
    assert drawn_variance(np.array([0.5 * 0.04]), 0.04) == pytest.approx(0.25 * 0.04**2)


@pytest.mark.parametrize(("tilt_x", "tilt_y"), [(3.0, 0.0), (0.0, -4.0), (2.0, 1.0)])
def test_tilt_is_read_from_perspective(drawn, tilt_x, tilt_y):
    """Against the simulated camera's own geometry, its lens at 250 mm."""
    camera = Camera(width_px=1600, height_px=1080, distance_mm=250.0)
    shot = Shot(pixels_per_mm=PER_MM, tilt_x_deg=tilt_x, tilt_y_deg=tilt_y, curl_mm=0)
    sight = simulated_view(camera, shot, (15.0, 10.0))
    lie = lie_of_sheet(
        view_of(drawn, sight.homography), mark_edges(view_of(gaussian_filter(drawn, 2.0)))
    )
    rise = sight.turn[2, :2]  # height per mm along the patch
    assert lie.slope == pytest.approx(rise, abs=2e-4)
    assert lie.tilt_mm((30.0, 20.0)) == pytest.approx(
        abs(30 * rise[0]) + abs(20 * rise[1]), rel=0.01
    )


def test_names_of_places():
    size = (30.0, 20.0)
    names = [place_name(np.array(p), size) for p in ((1, 1), (29, 19), (15, 1), (1, 10), (15, 10))]
    assert names == ["upper left corner", "lower right corner", "upper edge", "left side", "middle"]


def test_white_noise_does_not_rise():
    rises = [
        noise_rise(np.random.default_rng(seed).normal(1, 0.01, (150, 150))) for seed in range(40)
    ]
    assert max(rises) < NOISE_RISE.warning


@pytest.mark.parametrize(("radius", "amount"), [(1.0, 1.5), (2.0, 1.0)])
def test_sharpened_noise_rises_by_the_filter(radius, amount):
    """Gain of an unsharp mask, 1 + a (1 - exp(-2 pi^2 r^2 f^2)), squared (closed form)."""
    noise = np.random.default_rng(1).normal(0, 0.01, (500, 500))
    sharpened = noise + amount * (noise - gaussian_filter(noise, radius, mode="wrap"))

    def gain(frequency):
        return 1 + amount * (1 - np.exp(-2 * (np.pi * radius * frequency) ** 2))

    expected = max(
        (gain(0.15) / gain(0.075)) ** 2,
        (gain(0.21) / gain(0.12)) ** 2,
    )
    assert noise_rise(1 + sharpened) == pytest.approx(expected, rel=0.12)


def test_blocks_are_seen_and_nothing_else():
    rng = np.random.default_rng(0)
    plain = rng.normal(1, 0.01, (160, 160))
    assert block_step(plain) < 1.15
    stepped = plain + np.kron(rng.normal(0, 0.03, (20, 20)), np.ones((8, 8)))
    assert block_step(stepped) > 2
    assert block_step(np.roll(stepped, 3, axis=1)) > 2
    assert block_step(np.ones((64, 64))) == 1


def test_grain_of_white_noise_is_flat_and_known(drawn):
    """Power of white noise: variance times the area of a pixel (closed form)."""
    rng = np.random.default_rng(2)
    light = np.full(drawn.shape, 0.5) * (1 + rng.normal(0, 0.05, drawn.shape))
    spectra = grain_spectra(view_of(light))
    for tile in spectra.tiles:
        assert tile.level == pytest.approx(0.5, rel=0.01)
    power = np.array([tile.power for tile in spectra.tiles]) * PER_MM**2 / 0.05**2
    # 7 tints of some 1500 independent frequencies each: 1 % in all, 10 % in the smallest ring.
    assert power.mean() == pytest.approx(1, rel=0.03)
    assert power.mean(axis=(0, 1)) == pytest.approx(1, rel=0.3)
    assert spectra.frequency[0] == 3.5
    assert spectra.frequency[-1] == 20.5
