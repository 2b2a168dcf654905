"""Detail from one's own picture: |H| against closed forms, out of register, and its numbers."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from dotloupe import measure_capture, register
from dotloupe.capture.own_picture_file import load_picture, picture_of
from dotloupe.errors import InputError, RegionError
from dotloupe.evaluate.cautions import PrintedSizeUnknown
from dotloupe.evaluate.own_picture import compare_with_picture
from dotloupe.registration.homography import map_points
from dotloupe.registration.refinement import measure_shifts, rms_shift
from dotloupe.registration.registration import Registration
from dotloupe.report.text.cautions import caution_text

PICTURES = (
    "immunohistochemistry",
    "grass",
    "coffee",
    "chelsea",
    "retina",
    "moon",
    "rocket",
    "brick",
)
PPI = 300.0
BLUR_PX = (0.6, 0.45)


def known_place(taken, off_px=(0.0, 0.0)):
    """A registration that is off by so many picture pixels."""
    off = np.array([[1, 0, off_px[0]], [0, 1, off_px[1]], [0, 0, 1.0]])
    return Registration(off @ taken.homography, float("nan"), 0.0, 0.0)


def errors(found, blur_px=BLUR_PX):
    """Relative error of |H| by ring, both directions; NaN where coherence is not over 0.8."""
    off = []
    for direction, sigma in ((found.x, blur_px[0]), (found.y, blur_px[1])):
        per_px = direction.frequency * 25.4 / PPI
        true = np.exp(-2 * (np.pi * sigma * per_px) ** 2)
        off.append(np.where(direction.coherence > 0.8, direction.transfer / true - 1, np.nan))
    return np.concatenate(off)


@pytest.mark.parametrize("off_px", [(0.0, 0.0), (0.15, -0.15)])
@pytest.mark.parametrize(("scale", "turn_deg"), [(3.0, 10.0), (4.5, -70.0)])
def test_transfer_of_a_known_blur_within_two_percent(
    picture, photographed, scale, turn_deg, off_px, table_row
):
    """Eight open pictures: the mean over them in each ring.

    One reading scatters by what its interval says: at coherence 0.8 by 4 % in these small frames.
    """
    every, shifts = [], []
    for seed, name in enumerate(PICTURES):
        sent = replace(picture(name), ppi=PPI)
        taken = photographed(sent, scale, turn_deg, seed=seed)
        found = compare_with_picture(taken.capture, sent, known_place(taken, off_px))
        shifts.append(found.off_px)
        every.append(errors(found.transfer))
    everywhere = np.isfinite(every).all(axis=0)
    mean = np.mean(every, axis=0)[everywhere]
    single = np.concatenate(every)
    single = single[np.isfinite(single)]
    table_row(
        "own picture, |H| of a known blur where coherence exceeds 0.8 (simulated)",
        f"{scale:g} camera pixels a picture pixel, off by {off_px[0]:g} px each way: mean of "
        f"{len(every)} pictures within {100 * np.abs(mean).max():.1f} % in {len(mean)} rings; one "
        f"reading {100 * np.sqrt(np.mean(single**2)):.1f} % rms, "
        f"{100 * np.mean(np.abs(single) < 0.02):.0f} % of {len(single)} within 2 %",
    )
    assert everywhere.sum() >= 10
    assert np.abs(mean).max() < 0.02
    assert np.median(shifts) == pytest.approx(np.hypot(*off_px), abs=0.02)


def test_registration_that_is_off_is_caught_by_the_residual(picture, photographed):
    """0.3 picture pixels along x: seen by the windows, by the blocks, and said."""
    sent = replace(picture("chelsea"), ppi=PPI)
    taken = photographed(sent, 4.0, 20.0)
    frame = taken.capture.reflectance[..., 1]
    off = known_place(taken, (0.3, 0.0)).homography
    at_rest, moved = (measure_shifts(frame, sent.light(), h) for h in (taken.homography, off))
    residual = [rms_shift(s, np.ones(len(s.centres), bool)) / 4.0 for s in (at_rest, moved)]
    assert residual[0] < 0.05
    assert residual[1] == pytest.approx(0.3, abs=0.05)
    found = compare_with_picture(taken.capture, sent, known_place(taken, (0.3, 0.0)))
    assert found.off_px == pytest.approx(0.3, abs=0.03)


def test_measured_without_marks(picture, photographed):
    sent = replace(picture("immunohistochemistry"), ppi=PPI)
    taken = photographed(sent, 3.0, 200.0)
    measured = measure_capture(taken.capture, picture=sent)
    assert measured.fit
    response = [measured.numbers[f"response_{axis}"].value for axis in "xy"]
    # |H| of a Gaussian falls to half at sqrt(ln 2 / 2) / (pi sigma) (closed form); along y that
    # is 0.42 cycles a pixel.
    true = [np.sqrt(np.log(2) / 2) / (np.pi * sigma) * PPI / 25.4 for sigma in BLUR_PX]
    assert response == pytest.approx(true, rel=0.02)
    assert measured.numbers["picture_kept_x"].value > true[0]
    assert measured.registration.pixels_per_mm == pytest.approx(3 * PPI / 25.4, rel=2e-3)


def test_coarser_photographs_than_the_picture(picture, photographed):
    """Half a camera pixel a picture pixel: the picture's finer half does not fold back."""
    sent = replace(picture("retina"), ppi=PPI)
    taken = photographed(sent, 0.5, 30.0, blur_px=(1.6, 1.2), shape=(480, 640))
    found = compare_with_picture(taken.capture, sent, known_place(taken)).transfer
    assert found.x.frequency[-1] < 0.25 * PPI / 25.4
    assert np.nanmax(np.abs(errors(found, (1.6, 1.2)))) < 0.02


def test_size_of_the_print_is_asked_for(picture, photographed):
    sent = picture("coffee")
    taken = photographed(sent, 4.0, 0.0, shape=(700, 900))
    measured = measure_capture(taken.capture, picture=sent)
    known = measure_capture(taken.capture, picture=replace(sent, ppi=240.0))
    assert PrintedSizeUnknown() in measured.warnings
    unit = measured.numbers["response_x"]
    assert unit.unit == "cycles/picture pixel"
    assert known.numbers["response_x"].value == pytest.approx(unit.value * 240 / 25.4, rel=0.05)


def test_stated_resolution_and_given_width(tmp_path):
    pixels = np.random.default_rng(0).integers(0, 255, (100, 120, 3), dtype=np.uint8)
    for name, dpi, stated in (
        ("a.png", 300, 300), ("b.jpg", 360, 360), ("c.tif", 240, 240), ("d.jpg", 72, None)
    ):  # fmt: skip
        Image.fromarray(pixels).save(tmp_path / name, dpi=(dpi, dpi))
        assert load_picture(tmp_path / name).ppi == (
            None if stated is None else pytest.approx(stated, abs=0.01)
        )
    assert load_picture(tmp_path / "d.jpg", 25.4).ppi == pytest.approx(120)
    with pytest.raises(InputError, match="above 0"):
        load_picture(tmp_path / "d.jpg", 0)


def test_another_picture_is_not_measured(picture, photographed):
    taken = photographed(picture("coffee"), 3.0, 0.0, shape=(600, 800))
    measured = measure_capture(taken.capture, picture=picture("moon"))
    assert not measured.fit
    assert "not found in the picture" in caution_text(measured.reasons[0])


def test_frame_that_shows_something_else_in_part_is_refused(picture, photographed):
    sent = replace(picture("immunohistochemistry"), ppi=PPI)
    taken = photographed(sent, 3.0, 0.0)
    pixels = taken.capture.pixels.copy()
    pixels[:, 640:] = 45000
    noise = np.random.default_rng(1).integers(0, 3000, pixels[:, 640:].shape[:2])
    pixels[:, 640:] += noise[..., None].astype(np.uint16)
    half = replace(taken.capture, pixels=pixels)
    with pytest.raises(RegionError, match="not show"):
        compare_with_picture(half, sent, known_place(taken))


def test_arrays_of_any_kind_are_pictures():
    grey = np.linspace(0, 1, 64 * 64).reshape(64, 64)
    assert picture_of(grey).light().shape == (64, 64)
    # sRGB: half code is 0.2140 of the light (IEC 61966-2-1, from memory).
    assert picture_of(np.full((40, 40, 4), 0.5)).light()[0, 0] == pytest.approx(0.2140, abs=1e-3)
    for wrong in (grey[:8], grey.astype(np.int32), np.full((64, 64), np.nan)):
        with pytest.raises(InputError, match="picture"):
            picture_of(wrong)


def test_registration_by_content_is_as_good_as_the_truth(picture, photographed):
    sent = picture("coffee")
    taken = photographed(sent, 5.0, -35.0, grain=0.03)
    found = register(taken.capture, picture=sent)
    points = np.array([[100, 100], [1000, 100], [560, 420], [100, 700], [1000, 700]], float)
    apart = map_points(found.homography, points) - map_points(taken.homography, points)
    assert np.sqrt(np.mean(np.sum(apart**2, axis=1))) < 0.1
