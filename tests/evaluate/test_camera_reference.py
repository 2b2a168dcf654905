"""The camera's response from a simulated blade, against the simulated camera's own."""

from dataclasses import replace

import numpy as np
import pytest
from simulated_truth.straight_line import blade_sheet

from dotloupe import camera_response, load_capture, simulate
from dotloupe.errors import NotFitError


@pytest.fixture(scope="module")
def blade(tmp_path_factory):
    sheet = blade_sheet(30, 20, ((14.1, 20.0), (15.9, 0.0)), seed=1)
    picture = simulate.photograph(sheet, shot=simulate.Shot(seed=1))
    path = tmp_path_factory.mktemp("blade") / "blade.tif"
    return picture, simulate.write_capture(path, picture)


def test_response_is_that_of_the_simulated_camera(blade):
    """2 % of full modulation: the blade of 800 rows leaves 0.3 %, the sheet's curl the rest."""
    picture, path = blade
    response = camera_response(load_capture(path), picture.shot.pixels_per_mm)
    frequency = np.array([2.0, 4.0, 8.0, 12.0, 16.0])
    height, width = picture.linear.shape[:2]
    true = picture.camera_mtf(frequency, width / 2, height / 2, direction_deg=5.1)
    measured = np.interp(frequency, response.frequency, response.mtf)
    assert np.allclose(measured, true, atol=0.02), (measured, true)


def test_only_the_middle_of_the_frame_counts(blade):
    picture, path = blade
    capture = load_capture(path)
    rows, columns = capture.shape
    half = int(0.2 * min(rows, columns))
    kept = (
        slice(rows // 2 - half, rows // 2 + half),
        slice(columns // 2 - half, columns // 2 + half),
    )
    pixels = np.full_like(capture.pixels, capture.pixels.max() // 3)
    pixels[kept] = capture.pixels[kept]
    per_mm = picture.shot.pixels_per_mm
    whole, middle = (camera_response(c, per_mm) for c in (capture, replace(capture, pixels=pixels)))
    assert np.array_equal(whole.mtf, middle.mtf)


def test_a_frame_without_an_edge_is_refused(tmp_path):
    sheet = simulate.blank_sheet(30, 20, seed=2, pixels_per_mm=110.0)
    path = simulate.write_capture(tmp_path / "blank.tif", simulate.photograph(sheet))
    with pytest.raises(NotFitError, match=r"blank.tif: no reference edge across the middle"):
        camera_response(load_capture(path), 80.0)
