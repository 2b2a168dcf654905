"""Detail of whole simulated patches over captures that differ as a person's do (slow study).

Run with: pytest -m slow tests/evaluate/test_detail_study.py
"""

import numpy as np
import pytest

from dotloupe import Patch, load_capture, measure_capture, simulate
from dotloupe.registration.homography import map_points

TABLE = "simulated patches: detail with the camera taken out"
PRINTS, SHOTS = 6, 5
CAMERA_PLACE_MM = (6.3, 9.9)


def shot_of(seed: int) -> simulate.Shot:
    """Focus, tilt, light and exposure of one careful hand."""
    chance = np.random.default_rng(seed)
    return simulate.Shot(
        rotation_deg=chance.uniform(-2, 2),
        tilt_x_deg=chance.normal(0, 0.5),
        tilt_y_deg=chance.normal(0, 0.5),
        focus_error_mm=chance.normal(0, 0.06),
        curl_mm=chance.uniform(0, 0.08),
        light_slope=(chance.normal(0, 0.08), chance.normal(0, 0.08)),
        exposure=chance.uniform(0.4, 0.85),
        seed=seed,
    )


@pytest.mark.slow
def test_detail_over_thirty_captures(tmp_path, true_detail, table_row):
    """Mean error within 1.5 %, the goal; 95 % intervals hold at least 90 % of the truths."""
    errors, held = [], []
    for print_seed in range(PRINTS):
        patch = Patch(600, run=print_seed)
        mode = simulate.FINE if print_seed % 2 else simulate.FAST
        printed = simulate.print_picture(patch.draw(), 600, mode=mode, seed=100 + print_seed)
        true = {axis: true_detail(printed, patch, axis) for axis in ("x", "y")}
        for shot_number in range(SHOTS):
            picture = simulate.photograph(printed, shot=shot_of(10 * print_seed + shot_number))
            path = simulate.write_capture(tmp_path / "capture.tif", picture)
            place = map_points(np.linalg.inv(picture.homography), np.array([CAMERA_PLACE_MM]))[0]
            frequency = np.arange(0, 35, 0.25)
            camera = (frequency, picture.camera_mtf(frequency, *place))
            measured = measure_capture(load_capture(path), camera_mtf=camera)
            for axis in ("x", "y"):
                number = measured.numbers[f"detail_{axis}"]
                errors.append(100 * (number.value / true[axis] - 1))
                held.append(number.low <= true[axis] <= number.high)
    table_row(
        TABLE,
        f"{len(errors)} readings of {PRINTS * SHOTS} captures: mean {np.mean(errors):+.2f} %, "
        f"rms {np.sqrt(np.mean(np.square(errors))):.2f} %, worst {np.max(np.abs(errors)):.2f} %; "
        f"{100 * np.mean(held):.0f} % of the truths inside the 95 % interval",
    )
    assert abs(np.mean(errors)) < 1.5
    assert np.mean(held) > 0.9
