"""Tilt of the sheet, against the simulated camera's own geometry."""

from dataclasses import replace

import pytest
from scipy.ndimage import gaussian_filter

from dotloupe.fitness.mark_places import mark_places
from dotloupe.fitness.sheet_position import find_sheet_position, geometry_findings
from dotloupe.simulate import Camera, Shot
from dotloupe.simulate.camera import camera_pose

from .views import PER_MM, view_of


@pytest.mark.parametrize(("tilt_x", "tilt_y"), [(3.0, 0.0), (0.0, -4.0), (2.0, 1.0)])
def test_tilt_is_read_from_perspective(drawn, tilt_x, tilt_y):
    """Against the simulated camera's own geometry, its lens at 250 mm."""
    camera = Camera(width_px=1600, height_px=1080, distance_mm=250.0)
    shot = Shot(pixels_per_mm=PER_MM, tilt_x_deg=tilt_x, tilt_y_deg=tilt_y, curl_mm=0)
    pose = camera_pose(camera, shot, (15.0, 10.0))
    position = find_sheet_position(
        view_of(drawn, pose.homography), mark_places(view_of(gaussian_filter(drawn, 2.0)))
    )
    rise = pose.turn[2, :2]  # height per mm along the patch
    assert position.slope == pytest.approx(rise, abs=2e-4)
    assert position.tilt_mm((30.0, 20.0)) == pytest.approx(
        abs(30 * rise[0]) + abs(20 * rise[1]), rel=0.01
    )


@pytest.mark.parametrize("printed", [1.5, 0.97])
def test_a_wrong_size_is_that_of_the_print(drawn, printed):
    """Printed at 150 %, a patch is 50 % too large: by its own marks it has more pixels a mm."""
    view = view_of(drawn)
    settings = replace(view.capture.settings, pixels_per_mm=PER_MM / printed)
    view = replace(view, capture=replace(view.capture, settings=settings))
    scale = next(f for f in geometry_findings(view) if f.name == "scale")
    assert scale.value == pytest.approx(100 * abs(printed - 1))
    assert scale.evidence.too_large == (printed > 1)
