"""Registration of whole patches drawn, warped by a known homography and photographed plainly."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from dotloupe import Patch, register
from dotloupe.capture.capture import Capture
from dotloupe.errors import NotFitError, RegionError
from dotloupe.patch.corner_marks import LAST_RUN, PATCH_VERSION, PatchCode, code_modules, parse_code
from dotloupe.patch.srgb import srgb_decode
from dotloupe.registration.code_reading import _decode
from dotloupe.registration.cutting import cut_region, paper_lighting
from dotloupe.registration.homography import jacobian, map_points
from dotloupe.registration.registration import CodeUnread
from dotloupe.units import MM_PER_INCH

PER_MM = 40.0
MARGIN_MM = 1.5
TENTH_OF_A_SOURCE_PIXEL_UM = 1000 * MM_PER_INCH / 600 / 10


def homography_to_capture(turn_deg: float) -> tuple[np.ndarray, tuple[int, int]]:
    """Patch mm to capture pixel for a sheet turned and a little tilted, and the frame for it."""
    angle = np.deg2rad(turn_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0]])
    base = np.vstack([PER_MM * turn, [2e-4, 3e-4, 1.0]])
    corners = map_points(base, np.array([[0, 0], [30, 0], [30, 20], [0, 20]]))
    margin = MARGIN_MM * PER_MM
    shift = np.eye(3)
    shift[:2, 2] = margin - corners.min(axis=0)
    width, height = np.ceil(np.ptp(corners, axis=0) + 2 * margin).astype(int)
    return shift @ base, (int(width), int(height))


def photograph(patch: Patch, turn_deg: float = 1.5, *, blur_mm: float = 0.04, noise: float = 0.01):
    """Photograph of the drawing as sent, its pixels square, under uneven light; and its truth."""
    repeats = max(1, round(600 / patch.sent_ppi))
    drawn = patch.reflectance().repeat(repeats, axis=0).repeat(repeats, axis=1)
    pitch = MM_PER_INCH / patch.sent_ppi / repeats
    to_mm = np.array([[pitch, 0, pitch / 2], [0, pitch, pitch / 2], [0, 0, 1.0]])
    to_capture, (width, height) = homography_to_capture(turn_deg)
    seen = cv2.warpPerspective(
        drawn.astype(np.float32),
        to_capture @ to_mm,
        (width, height),
        flags=cv2.INTER_LINEAR,
        borderValue=(1, 1, 1),
    )
    seen = cv2.GaussianBlur(seen, (0, 0), blur_mm * PER_MM)
    x = np.arange(width) / width
    seen *= (0.6 * (1 - 0.15 * x))[None, :, None]
    seen += np.random.default_rng(patch.run).normal(0, 0.6 * noise, seen.shape)
    pixels = np.round(65535 * np.clip(seen, 0, 1)).astype(np.uint16)
    linear = np.linspace(0, 1, 65536, dtype=np.float32)
    capture = Capture("drawn.tif", "0" * 64, pixels, linear, np.full(3, 0.58))
    return capture, to_capture


def mapping_error_um(registration, to_capture) -> float:
    x, y = np.meshgrid(np.linspace(1, 29, 9), np.linspace(1, 19, 7))
    points = np.column_stack([x.ravel(), y.ravel()])
    found = map_points(registration.homography, map_points(to_capture, points))
    return 1000 * float(np.sqrt(np.mean(np.sum((found - points) ** 2, axis=1))))


@pytest.mark.parametrize(
    ("ppi", "turn_deg"), [(600, 1.5), (300, 90.8), (720, 179.0), (1200, -91.0), (200, -2.0)]
)
def test_found_within_a_tenth_of_a_source_pixel(ppi, turn_deg):
    capture, to_capture = photograph(Patch(ppi, run=12), turn_deg)
    registration = register(capture)
    assert (registration.run, registration.sent_ppi) == (12, ppi)
    assert mapping_error_um(registration, to_capture) < TENTH_OF_A_SOURCE_PIXEL_UM
    local = jacobian(to_capture, (15.0, 10.0))
    true_scale = np.sqrt(abs(np.linalg.det(local)))
    assert registration.pixels_per_mm == pytest.approx(true_scale, rel=1e-3)


@pytest.mark.parametrize("kind", ["detail", "tints"])
def test_faultless_codes_of_all_runs_are_read(kind):
    """A general-purpose decoder that has to find the code by itself misses one in some hundreds."""
    for run in range(LAST_RUN + 1):
        code = PatchCode(PATCH_VERSION, kind, run, 360 + run)
        assert parse_code(_decode(code_modules(code))) == code


def test_a_patch_of_another_version_is_refused(monkeypatch):
    """Its elements lie elsewhere: its numbers would be of the wrong places."""
    monkeypatch.setattr("dotloupe.patch.patch.PATCH_VERSION", 1)
    capture, _ = photograph(Patch(600, run=5))
    with pytest.raises(NotFitError, match="version 1, and this release measures version 2"):
        register(capture)


def test_residual_grows_with_a_distortion_that_no_homography_holds():
    """A sheet bulged by 60 um rms must not be reported as if it were flat."""
    capture, _ = photograph(Patch(600, run=3))
    rows, columns = capture.shape
    y, x = np.mgrid[:rows, :columns].astype(np.float32)
    bulge = (0.12 * PER_MM * np.sin(np.pi * x / columns) ** 2).astype(np.float32)
    bent = cv2.remap(capture.pixels, x, y + bulge, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    flat_um = register(capture).residual_um
    bent_um = register(
        Capture("bent.tif", "1" * 64, bent, capture.linear, capture.paper_level)
    ).residual_um
    assert flat_um < 10
    assert bent_um > 2 * flat_um


def test_tints_patch_says_its_kind():
    capture, to_capture = photograph(Patch(600, run=5, kind="tints"))
    registration = register(capture)
    assert registration.patch is not None
    assert registration.patch.kind == "tints"
    assert mapping_error_um(registration, to_capture) < TENTH_OF_A_SOURCE_PIXEL_UM


def test_a_code_that_cannot_be_read_costs_only_what_it_said():
    capture, to_capture = photograph(Patch(600, run=9))
    region = Patch(600).regions["code"]
    left, top = map_points(to_capture, np.array([[region.x_mm, region.y_mm]]))[0].astype(int)
    pixels = capture.pixels.copy()
    pixels[top : top + int(2.2 * PER_MM), left : left + int(3 * PER_MM)] = 30000
    hidden = Capture("hidden.tif", "2" * 64, pixels, capture.linear, capture.paper_level)
    registration = register(hidden)
    assert registration.run == 9
    assert registration.sent_ppi is None
    assert CodeUnread() in registration.cautions
    assert mapping_error_um(registration, to_capture) < TENTH_OF_A_SOURCE_PIXEL_UM


def test_light_is_flat_after_the_paper_around_the_elements():
    """A fall of 15 % leaves less than 0.5 % on the paper tint, 20 mm from the brightest end."""
    patch = Patch(600, run=1)
    capture, _ = photograph(patch)
    registration = register(capture)
    lighting = paper_lighting(capture, patch, registration.homography)
    assert lighting.unevenness == pytest.approx(0.15, abs=0.03)
    for tone, sent in (("paper", 1.0), ("grey10", 0.1)):
        region = patch.regions[f"tint_{tone}"]
        cut = cut_region(capture, registration.homography, lighting, region, margin_mm=-0.4)
        assert cut.luminance.mean() == pytest.approx(sent, rel=5e-3)


@pytest.mark.parametrize("turn_deg", [0.5, 90.5, 180.5, 270.5])
def test_cut_turns_a_region_upright(turn_deg):
    """The slanted edge lies in the middle of its cut, dark on the right, however the sheet lay."""
    patch = Patch(600, run=2)
    capture, _ = photograph(patch, turn_deg)
    registration = register(capture)
    lighting = paper_lighting(capture, patch, registration.homography)
    cut = cut_region(capture, registration.homography, lighting, patch.regions["edge_mid_x_1"])
    x, y = cut.centre_px
    row = cut.luminance[round(y) - 2 : round(y) + 3].mean(axis=0)
    assert cut.luminance.shape[0] > cut.luminance.shape[1]
    assert row[0] == pytest.approx(0.64, rel=0.05)
    assert row[-1] == pytest.approx(0.16, rel=0.05)
    crossing = np.interp(-0.40, -row, np.arange(len(row)))
    assert crossing == pytest.approx(x, abs=1.0)


@pytest.mark.parametrize("run", [4, 11])
def test_mirrored_picture_is_named(run):
    """Of run 11 the lower left mark is read from its other side as well."""
    capture, _ = photograph(Patch(600, run=run))
    mirrored = Capture(
        "mirror.tif", "4" * 64, capture.pixels[:, ::-1], capture.linear, capture.paper_level
    )
    with pytest.raises(NotFitError, match="mirrored"):
        register(mirrored)


@pytest.mark.parametrize("run", [4, 11])
def test_a_patch_with_a_covered_mark_is_not_called_mirrored(run):
    capture, _ = photograph(Patch(600, run=run))
    rows, columns = capture.shape
    pixels = capture.pixels.copy()
    pixels[rows * 3 // 4 :, columns * 4 // 5 :] = pixels.max()
    with pytest.raises(NotFitError, match=r"bottom right mark of run \d+ not seen"):
        register(replace(capture, pixels=pixels))


def test_photograph_without_marks_is_named():
    noise = np.random.default_rng(0).integers(0, 65535, (600, 900, 3), dtype=np.uint16)
    linear = np.linspace(0, 1, 65536, dtype=np.float32)
    with pytest.raises(NotFitError, match="no patch found"):
        register(Capture("noise.tif", "5" * 64, noise, linear, np.ones(3)))


def test_another_run_than_asked_for_is_named():
    capture, _ = photograph(Patch(600, run=4))
    with pytest.raises(NotFitError, match="run 4, not run 5"):
        register(capture, Patch(600, run=5))


def test_patch_turned_too_far_is_named():
    patch = Patch(600, run=2)
    capture, _ = photograph(patch, 30.0)
    registration = register(capture)
    lighting = paper_lighting(capture, patch, registration.homography)
    with pytest.raises(RegionError, match="turned by 30 degrees"):
        cut_region(capture, registration.homography, lighting, patch.regions["edge_mid_x_1"])


def test_srgb_decoding_of_the_patch_room_matches_the_standard():
    """IEC 61966-2-1: mid grey 0.5 decodes to 0.21404 (from memory)."""
    assert float(srgb_decode(np.array(0.5))) == pytest.approx(0.21404, abs=1e-5)
