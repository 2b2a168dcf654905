"""A capture brought onto the grid of its patch: known fields come back where they lie."""

import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.registration.patch_image import patch_picture


class EvenLight:
    """Light that falls off along x as known."""

    @staticmethod
    def over_grid(x, y):
        return np.broadcast_to((1 - 2e-4 * x)[None, :, None], (len(y), len(x), 3))


@pytest.mark.parametrize(
    ("per_mm", "grid_per_mm"),
    [(50.0, 8.0), (50.0, 20.0), (50.0, 50.0), (204.0, 10.0), (80.0, 67.0), (204.0, 67.0)],
)
def test_a_turned_capture_comes_back_on_its_millimetres(per_mm, grid_per_mm):
    # a smooth field in patch mm, seen turned by 2 degrees under uneven light
    turn = np.radians(2.0)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) / per_mm
    homography = np.eye(3)
    homography[:2, :2], homography[:2, 2] = rotation, (1.0, 0.5)

    def field(x_mm, y_mm):
        return 0.5 + 0.2 * np.sin(1.3 * x_mm) + 0.2 * np.cos(0.9 * y_mm + 0.4 * x_mm)

    rows, columns = np.mgrid[0 : round(10 * per_mm), 0 : round(12 * per_mm)]
    x_mm, y_mm = np.moveaxis(
        np.stack([columns, rows], axis=-1) @ rotation.T + homography[:2, 2], -1, 0
    )
    light = 1 - 2e-4 * columns
    pixels = np.round(field(x_mm, y_mm) * light * 65535 / 2).astype(np.uint16)
    capture = Capture(
        path="c.tif",
        sha256="c",
        pixels=np.repeat(pixels[..., None], 3, axis=2),
        linear=np.linspace(0, 1, 65536, dtype=np.float32),
        paper_level=np.full(3, 0.5, np.float32),
    )
    box = (2.0, 2.0, 7.0, 5.0)
    found = patch_picture(capture, homography, EvenLight(), box_mm=box, pixels_per_mm=grid_per_mm)
    rows, columns = round(3 * grid_per_mm), round(5 * grid_per_mm)
    assert found.shape == (rows, columns, 3)
    at_y, at_x = np.mgrid[0:rows, 0:columns]
    expected = field(2.0 + (at_x + 0.5) / grid_per_mm, 2.0 + (at_y + 0.5) / grid_per_mm)
    # half a pixel of misplacement on the grid of 20 would show as 0.0065
    assert np.abs(found[..., 1] - expected).max() < 6e-4


def test_a_grid_that_carries_all_detail_keeps_fine_waves_and_adds_no_coarse_ones():
    """Cubic interpolation passes 0.98 of a quarter of the sampling frequency (linear 0.81)."""
    per_mm, grid_per_mm, wave_per_mm = 80.0, 67.0, 20.0
    wave = 0.5 + 0.4 * np.sin(2 * np.pi * wave_per_mm * np.arange(800) / per_mm)
    capture = Capture(
        path="c.tif",
        sha256="c",
        pixels=np.tile(np.round(wave * 32767).astype(np.uint16)[None, :, None], (200, 1, 3)),
        linear=np.linspace(0, 1, 65536, dtype=np.float32),
        paper_level=np.full(3, 0.5, np.float32),
    )
    found = patch_picture(
        capture,
        np.diag([1 / per_mm, 1 / per_mm, 1.0]),
        None,
        box_mm=(1.0, 1.0, 9.0, 2.0),
        pixels_per_mm=grid_per_mm,
    )[30, :, 1].astype(float)
    window = np.hanning(found.size)
    contrast = 2 * np.abs(np.fft.rfft((found - found.mean()) * window)) / window.sum()
    frequency = np.arange(contrast.size) * grid_per_mm / found.size
    assert contrast[np.abs(frequency - wave_per_mm) < 0.5].max() == pytest.approx(0.4, rel=0.04)
    assert contrast[frequency < wave_per_mm - 2].max() < 0.03 * 0.4


@pytest.mark.parametrize("grid_per_mm", [67.0, 200.0])
def test_the_border_of_a_photograph_casts_no_line(grid_per_mm):
    """Even paper turned by a degree: paper where it is seen, nothing else beside it."""
    capture = Capture(
        path="c.tif",
        sha256="c",
        pixels=np.full((160, 240, 3), 200, np.uint8),
        linear=np.linspace(0, 1, 256, dtype=np.float32),
        paper_level=np.full(3, 200 / 255, np.float32),
    )
    turn = np.radians(1.0)
    homography = np.eye(3)
    homography[:2, :2] = [[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]
    homography[:2] /= 80.0
    found = patch_picture(
        capture, homography, None, box_mm=(-0.5, -0.5, 3.5, 2.5), pixels_per_mm=grid_per_mm
    )
    seen = found[found > 0]
    assert seen.size / found.size == pytest.approx(3.0 * 2.0 / 12.0, abs=0.01)
    assert seen == pytest.approx(1.0, abs=1e-3)


def test_outside_the_photograph_is_black_and_glints_are_cut():
    capture = Capture(
        path="c.tif",
        sha256="c",
        pixels=np.full((100, 100, 3), 255, np.uint8),
        linear=np.linspace(0, 5, 256, dtype=np.float32),
        paper_level=np.full(3, 0.5, np.float32),
    )
    homography = np.diag([0.02, 0.02, 1.0])
    found = patch_picture(
        capture, homography, None, box_mm=(1.0, 0.5, 4.0, 1.5), pixels_per_mm=10.0
    )
    assert found[5, 5] == pytest.approx([1.6] * 3)
    assert np.all(found[:, 12:] == 0)
