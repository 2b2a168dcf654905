"""What the camera takes from detail at most, against what it takes."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import PRINTERS
from printers.cameras import Camera, photograph

from dotloupe import Patch, measure_capture

CAMERAS = {
    "sharp": Camera(pixels_per_mm=80.0, turn_deg=1.0, lens_um=3.0),
    "soft": Camera(pixels_per_mm=80.0, turn_deg=1.0, lens_um=12.0),
}


@pytest.fixture(scope="module")
def printed():
    return PRINTERS["dye_300"](Patch(600, run=3), 2)


@pytest.mark.parametrize("name", CAMERAS)
def test_the_camera_takes_no_more_than_is_said(name, printed, tmp_path):
    """The lens as a Gaussian and the pixel as a square, closed forms, are taken out as known."""
    camera = CAMERAS[name]
    capture = photograph(printed, camera, seed=3).to_capture(tmp_path)
    included = measure_capture(capture)
    f = np.linspace(0, 40, 401)
    response = np.exp(-2 * (np.pi * camera.lens_sigma_mm * f) ** 2)
    known = measure_capture(capture, camera_mtf=(f, response * np.sinc(f / camera.pixels_per_mm)))
    assert known.camera_cost_percent is None
    for axis in ("x", "y"):
        ratio = included.numbers[f"detail_{axis}"].value / known.numbers[f"detail_{axis}"].value
        cost = 100 * (1 - ratio)
        print(f"\n{name}, {axis}: takes {cost:.1f} %, at most {included.camera_cost_percent:.1f} %")
        assert 0 < cost <= included.camera_cost_percent
    assert included.to_dict()["camera_cost_percent_at_most"] == included.camera_cost_percent
