"""The camera: geometry, transfer and noise are what the truth says they are."""

from dataclasses import replace

import numpy as np
import pytest
from simulated_truth.straight_line import Line, blade_sheet, distance_from

from dotloupe import simulate
from dotloupe.simulate import Sheet

SMOOTH = simulate.Paper(texture_rms=0.0)
SMALL = simulate.Camera(width_px=320, height_px=320)
QUIET = replace(
    SMALL,
    full_well_e=1e9,
    read_noise_e=0.0,
    pixel_gain_rms=0.0,
    pixel_offset_rms_e=0.0,
    bits=16,
)
FREQUENCY = np.array([1.0, 4.0, 8.0, 12.0, 16.0])


def edge_at(angle_deg: float) -> Line:
    angle = np.deg2rad(angle_deg)
    return ((2.0, 2.0), (2.0 + float(np.cos(angle)), 2.0 + float(np.sin(angle))))


def transfer_seen(picture: simulate.Photograph, line: Line) -> tuple[np.ndarray, float]:
    """Modulation at FREQUENCY and offset in um of a photographed edge, by its true distance."""
    y, x = np.mgrid[10:310, 10:310].astype(float)
    light = picture.pose.light(x, y)
    values = picture.linear[10:310, 10:310] @ np.array(simulate.LUMINANCE) / light
    distance = distance_from(line, *picture.pose.to_mm(x, y))
    step, half = 0.004, 250
    place = np.floor(distance / step).astype(int) + half
    held = (place >= 0) & (place < 2 * half)
    count = np.bincount(place[held], minlength=2 * half)
    spread = np.bincount(place[held], weights=values[held], minlength=2 * half) / count
    rise = np.diff(spread)
    at = (np.arange(1, 2 * half) - half) * step
    seen = np.exp(-2j * np.pi * FREQUENCY[:, None] * at) @ rise / rise.sum()
    return np.abs(seen) / np.sinc(FREQUENCY * step) ** 2, -1000.0 * np.angle(seen[0]) / 2 / np.pi


@pytest.fixture(scope="module")
def blank() -> Sheet:
    return simulate.blank_sheet(4.0, 4.0, paper=SMOOTH)


@pytest.mark.parametrize(
    ("angle_deg", "shot"),
    [
        (5.0, simulate.Shot()),
        (95.0, simulate.Shot(rotation_deg=-17.0)),
        (27.0, simulate.Shot(rotation_deg=-17.0)),
        (5.0, simulate.Shot(focus_error_mm=0.5, tilt_x_deg=0.0, tilt_y_deg=0.0)),
        (95.0, simulate.Shot(motion_um=(25.0, 0.0))),
    ],
    ids=["careful", "turned", "oblique", "defocused", "shaken"],
)
def test_edge_is_seen_where_and_as_the_truth_says(angle_deg: float, shot: simulate.Shot) -> None:
    line = edge_at(angle_deg)
    sheet = blade_sheet(4.0, 4.0, line, paper=SMOOTH)
    picture = simulate.photograph(sheet, camera=QUIET, shot=shot)
    mtf, offset_um = transfer_seen(picture, line)
    truth = picture.camera_mtf(FREQUENCY, 159.5, 159.5, direction_deg=angle_deg + 90.0)
    # What diffraction throws beyond the 1 mm looked at is 0.2 % of the step.
    assert mtf == pytest.approx(truth, rel=0.004)
    assert abs(offset_um) < 0.05


def test_focus_differs_over_a_tilted_sheet() -> None:
    line = edge_at(95.0)
    sheet = blade_sheet(4.0, 4.0, line, paper=SMOOTH)
    shot = simulate.Shot(tilt_y_deg=6.0, tilt_x_deg=0.0, focus_error_mm=0.5, curl_mm=0.0)
    picture = simulate.photograph(sheet, camera=QUIET, shot=shot)
    left, middle, right = (
        picture.camera_mtf(np.array([8.0]), x, 159.5)[0] for x in (10.0, 159.5, 310.0)
    )
    assert abs(left - right) > 0.03
    assert min(left, right) < middle < max(left, right)
    assert transfer_seen(picture, line)[0][2] == pytest.approx(middle, rel=0.01)


def test_view_and_its_inverse() -> None:
    shot = simulate.Shot(tilt_x_deg=2.0, tilt_y_deg=-1.0, rotation_deg=12.0, curl_mm=0.5)
    picture = simulate.photograph(
        simulate.blank_sheet(4.0, 4.0, paper=SMOOTH), camera=SMALL, shot=shot
    )
    x, y = np.array([0.0, 120.5, 319.0]), np.array([300.0, 7.0, 210.25])
    back_x, back_y = picture.pose.to_px(*picture.pose.to_mm(x, y))
    # The curl is undone in rounds: a ten-thousandth of a pixel is left.
    assert back_x == pytest.approx(x, abs=1e-4)
    assert back_y == pytest.approx(y, abs=1e-4)
    middle = picture.pose.to_mm(np.array([159.5]), np.array([159.5]))
    assert np.ravel(middle) == pytest.approx([2.0, 2.0], abs=1e-9)
    flat = picture.homography @ np.array([120.5, 7.0, 1.0])
    flat_x, flat_y = picture.pose.to_flat_mm(x[1:2], y[1:2])
    assert flat[:2] / flat[2] == pytest.approx([flat_x[0], flat_y[0]])


def test_perspective_by_similar_triangles() -> None:
    """A sheet tilted by t about y is nearer by x sin t, so it looks larger by that over D."""
    camera = replace(SMALL, distance_mm=200.0)
    shot = simulate.Shot(tilt_y_deg=10.0, tilt_x_deg=0.0, rotation_deg=0.0, curl_mm=0.0)
    pose = simulate.photograph(simulate.blank_sheet(4.0, 4.0), camera=camera, shot=shot).pose
    x_px, y_px = pose.to_px(np.array([4.0]), np.array([3.0]))
    nearer = -2.0 * np.sin(np.deg2rad(10.0))
    assert x_px[0] == pytest.approx(
        159.5 + 80.0 * 2.0 * np.cos(np.deg2rad(10.0)) / (1.0 - nearer / 200.0)
    )
    assert y_px[0] == pytest.approx(159.5 + 80.0 / (1.0 - nearer / 200.0))


def test_photons_set_the_noise(blank: Sheet) -> None:
    """Photon transfer: the variance of the charge is the charge, and the reading's on top."""
    camera = replace(SMALL, pixel_gain_rms=0.0, pixel_offset_rms_e=0.0)
    dim = simulate.Shot(exposure=0.1, light_slope=(0.0, 0.0), light_falloff=0.0)
    for exposure in (0.1, 0.4):
        shots = [
            simulate.photograph(
                blank, camera=camera, shot=replace(dim, seed=seed, exposure=exposure)
            ).mosaic[::2, 1::2]
            * camera.full_well_e
            / 0.98
            for seed in (1, 2)
        ]
        charge = camera.full_well_e * exposure
        assert np.mean(shots[0]) - camera.full_well_e * 0.02 / 0.98 == pytest.approx(
            charge, rel=0.002
        )
        # 25,600 pixels: a variance is known to 0.9 %; four standard errors.
        noise = 0.5 * np.var(shots[0] - shots[1])
        step = camera.full_well_e / 0.98 / 2**camera.bits
        expected = charge + camera.read_noise_e**2 + step**2 / 12.0
        assert noise == pytest.approx(expected, rel=0.036)


def test_fixed_pattern_stays_and_shot_noise_does_not(blank: Sheet) -> None:
    camera = replace(SMALL, pixel_gain_rms=0.05)
    even = simulate.Shot(light_slope=(0.0, 0.0), light_falloff=0.0)
    first, again, other = (
        simulate.photograph(blank, camera=camera, shot=replace(even, seed=seed)).mosaic
        for seed in (1, 1, 2)
    )
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    green = (slice(0, None, 2), slice(1, None, 2))
    assert np.corrcoef(first[green].ravel(), other[green].ravel())[0, 1] > 0.9
    # 25,600 pixels: chance alone correlates by 0.006.
    third = simulate.photograph(blank, camera=replace(camera, serial=2), shot=even).mosaic
    assert np.corrcoef(first[green].ravel(), third[green].ravel())[0, 1] < 0.04


def test_overexposure_clips(blank: Sheet) -> None:
    picture = simulate.photograph(blank, camera=SMALL, shot=simulate.Shot(exposure=1.4))
    assert np.mean(picture.coded(8)[..., 1] == 255) > 0.9


def test_paper_develops_to_neutral_at_the_exposure(blank: Sheet) -> None:
    level = simulate.Shot(exposure=0.6, light_slope=(0.0, 0.0), light_falloff=0.0)
    picture = simulate.photograph(blank, camera=SMALL, shot=level)
    assert picture.linear.mean(axis=(0, 1)) == pytest.approx([0.6, 0.6, 0.6], rel=0.003)


def test_sharpening_shows_as_overshoot() -> None:
    line = edge_at(95.0)
    sheet = blade_sheet(4.0, 4.0, line, paper=SMOOTH)
    plain, sharpened = (
        simulate.photograph(
            sheet, camera=QUIET, shot=simulate.Shot(sharpening=amount, light_slope=(0.0, 0.0))
        ).coded(16)[..., 1]
        for amount in (0.0, 1.0)
    )
    assert sharpened.max() > 1.03 * plain.max()


def test_dark_shot_and_paper_beyond_the_sheet() -> None:
    dark = simulate.photograph(
        simulate.blank_sheet(4.0, 4.0), camera=SMALL, shot=simulate.Shot(exposure=0.0)
    )
    # Black level alone: read noise and offsets of some 4 electrons of 30,000.
    assert np.abs(dark.linear.mean()) < 1e-4
    black = simulate.print_picture(np.zeros((40, 40, 3), dtype=np.uint8), 720.0, margin_mm=0.3)
    far = simulate.photograph(
        black, camera=SMALL, shot=simulate.Shot(light_slope=(0.0, 0.0), light_falloff=0.0)
    )
    inside = far.linear[150:170, 150:170].mean()
    around = np.concatenate([far.linear[:60].ravel(), far.linear[-60:].ravel()])
    assert inside < 0.05
    # White paper at 0.75 of full charge; five sigma of the relief and noise leave it over 0.65.
    assert around.min() > 0.65
    assert around.mean() == pytest.approx(0.75, rel=0.01)
