"""Simulated captures with one fault each, quickly: the simulator's print, geometry and sensor.

The lens is blurred on the frame's own grid, in place of the simulator's transfer on the print's,
so that a capture takes less than a second.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
import pytest
from PIL import Image

from dotloupe.patch.patch import Patch
from dotloupe.simulate import (
    FAST,
    FINE,
    GLOSS,
    LUSTRE,
    PRINTER_600,
    PRINTER_720,
    Camera,
    Shot,
    print_picture,
)
from dotloupe.simulate.camera import camera_pose
from dotloupe.simulate.files import srgb_profile
from dotloupe.simulate.optics import defocus_disc_mm
from dotloupe.simulate.sensor import develop, encode, expose, mosaic_sites

from .views import SHARP_PPI

LIFE_SIZE = Camera(width_px=1600, height_px=1080, pitch_um=20.0)
"""50 pixels/mm at life size, with the depth of field of a life-size picture at f/5.6."""
PRINT_PER_MM = 110.0
PRINTS = (
    (600, PRINTER_720, FAST, LUSTRE),
    (360, PRINTER_600, FINE, LUSTRE),
    (600, PRINTER_600, FAST, GLOSS),
    (720, PRINTER_720, FINE, LUSTRE),
)
DISC_LEVELS = 4


@dataclass(frozen=True)
class Printed:
    """A simulated print as an in-focus lens and its pixels' aperture see it."""

    seen: np.ndarray
    to_pixel: Callable
    size_mm: tuple[float, float]


@dataclass(frozen=True)
class Fault:
    """What is wrong with a capture: its shot, how the print lies under it, its development."""

    shot: Callable = lambda shot, _: shot
    place: Callable = lambda x, y: (x, y)
    light: Callable = lambda light, _x, _y: light
    coded: Callable = lambda coded: coded
    quality: int = 95
    kind: str = "jpg"


@pytest.fixture(scope="session")
def printed():
    """Prints by number, each made once."""
    made = {}

    def one(number):
        if number not in made:
            ppi, printer, mode, paper = PRINTS[number]
            sheet = print_picture(
                Patch(ppi, 11 + number).draw(),
                ppi,
                printer=printer,
                mode=mode,
                paper=paper,
                seed=number,
                pixels_per_mm=PRINT_PER_MM,
            )
            pixel = PRINT_PER_MM / 50.0
            aperture = pixel / np.sqrt(12)
            sigma = np.hypot(LIFE_SIZE.aberration_px * pixel, aperture)
            seen = cv2.GaussianBlur(sheet.reflectance, (0, 0), sigma)
            made[number] = Printed(seen, sheet.to_pixel, (sheet.width_mm, sheet.height_mm))
        return made[number]

    return one


@pytest.fixture(scope="session")
def drawn():
    """Green light of a patch drawn at the sampling of the capture."""
    return Patch(600, 3).reflectance(SHARP_PPI)[..., 1] * 0.8


def careful_shot(seed):
    """A shot as a careful person takes it, all of its small faults at random."""
    rng = np.random.default_rng([seed, 77])

    def within(reach):
        return float(rng.uniform(-reach, reach))

    return Shot(
        pixels_per_mm=50.0,
        rotation_deg=within(1.5),
        tilt_x_deg=within(0.4),
        tilt_y_deg=within(0.4),
        focus_error_mm=within(0.12),
        curl_mm=abs(within(0.12)),
        curl_axis_deg=float(rng.uniform(0, 180)),
        light_slope=(within(0.08), within(0.08)),
        light_falloff=abs(within(0.08)),
        exposure=float(rng.uniform(0.6, 0.85)),
        seed=seed,
    )


@pytest.fixture(scope="session")
def captured(printed, tmp_path_factory):
    """Write a photograph of a print with one fault by name, or none, and give its path."""
    folder = tmp_path_factory.mktemp("captures")

    def take(name, seed, number):
        fault = FAULTS[name]
        shot = fault.shot(careful_shot(seed), seed)
        coded = fault.coded(encode(_linear(printed(number), shot, fault), shot, 8))
        path = folder / f"capture.{fault.kind}"
        profile = srgb_profile()
        if fault.kind == "jpg":
            Image.fromarray(coded).save(path, quality=fault.quality, icc_profile=profile)
        else:
            dpi = (50 * 25.4,) * 2 if fault.kind == "tif" else None
            Image.fromarray(coded).save(path, icc_profile=profile, **({"dpi": dpi} if dpi else {}))
        return path

    return take


def _linear(printed, shot, fault):
    camera = LIFE_SIZE
    width, height = printed.size_mm
    pose = camera_pose(camera, shot, (width / 2, height / 2))
    y, x = np.mgrid[0 : camera.height_px, 0 : camera.width_px].astype(float)
    x_mm, y_mm = pose.to_mm(x, y)
    disc_px = defocus_disc_mm(camera, shot, pose.defocus_mm(x_mm, y_mm)) * shot.pixels_per_mm
    light = fault.light(pose.light(x, y), x_mm, y_mm).astype(np.float32)
    x_mm, y_mm = fault.place(x_mm, y_mm)
    maps = [printed.to_pixel(mm).astype(np.float32) for mm in (x_mm, y_mm)]
    border = {"borderMode": cv2.BORDER_CONSTANT, "borderValue": (1.0, 1.0, 1.0)}
    scene = cv2.remap(printed.seen, *maps, cv2.INTER_LINEAR, **border)
    scene = _moved(_defocused(scene, disc_px.astype(np.float32)), shot)
    mosaic = np.empty(scene.shape[:2], np.float32)
    for band in range(3):
        for sites in mosaic_sites(band):
            mosaic[sites] = scene[..., band][sites]
    return develop(expose(mosaic * light, camera, shot), camera)


def _defocused(scene, disc_px):
    levels = np.linspace(disc_px.min(), disc_px.max(), DISC_LEVELS)
    place = (disc_px - levels[0]) / max(levels[1] - levels[0], 1e-6)
    result = np.zeros_like(scene)
    for i, level in enumerate(levels):
        share = np.clip(1 - np.abs(place - i), 0, 1)[..., None]
        result += share * cv2.filter2D(scene, -1, _disc(level), borderType=cv2.BORDER_REPLICATE)
    return result


def _disc(diameter_px):
    """Even disc, its rim by area on a grid 9 times finer."""
    half = int(np.ceil(diameter_px / 2))
    fine = (np.arange(9 * (2 * half + 1)) - 4) / 9 - half
    inside = np.hypot(fine[:, None], fine) <= max(diameter_px / 2, 0.05)
    kernel = inside.reshape(2 * half + 1, 9, 2 * half + 1, 9).mean(axis=(1, 3))
    return kernel / kernel.sum()


def _moved(scene, shot):
    travel = np.hypot(*shot.motion_um) / 1000 * shot.pixels_per_mm
    if not travel:
        return scene
    angle = np.arctan2(shot.motion_um[1], shot.motion_um[0])
    half = int(np.ceil(travel / 2)) + 1
    kernel = np.zeros((2 * half + 1,) * 2, np.float32)
    for along in np.linspace(-travel / 2, travel / 2, 64):
        x, y = half + along * np.cos(angle), half + along * np.sin(angle)
        left, top = int(x), int(y)
        for row, column in ((0, 0), (0, 1), (1, 0), (1, 1)):
            weight = (1 - abs(x - left - column)) * (1 - abs(y - top - row))
            kernel[top + row, left + column] += weight / 64
    return cv2.filter2D(scene, -1, kernel, borderType=cv2.BORDER_REPLICATE)


def signed(seed):
    """One way or the other."""
    return 1 if seed % 2 else -1


def _one(**changes):
    return Fault(
        shot=lambda shot, seed: replace(
            shot, **{name: value(seed) for name, value in changes.items()}
        )
    )


def _coarse_jpeg(coded):
    data = cv2.imencode(".jpg", coded, [cv2.IMWRITE_JPEG_QUALITY, 15])[1]
    return cv2.imdecode(data, cv2.IMREAD_COLOR)


def _black_cut(coded):
    """A contrast curve that ends at the black of the print and 5 % of it more."""
    table = np.arange(256.0)
    return np.clip((table - 75) * 255 / 180, 0, 255).astype(np.uint8)[coded]


FAULTS = {
    "none": Fault(),
    "sampling": _one(pixels_per_mm=lambda _: 24.0),
    "stretch": Fault(place=lambda x, y: (x / 1.03, y)),
    "exposure": _one(exposure=lambda _: 0.1),
    "clipped light": _one(exposure=lambda _: 1.3),
    "clipped dark": Fault(coded=_black_cut),
    "compression": Fault(quality=25),
    "compression before": Fault(coded=_coarse_jpeg, kind="png"),
    "uneven light": _one(
        light_slope=lambda seed: (0.6 * signed(seed), 0.1), exposure=lambda _: 0.6
    ),
    "uneven light, shadow": Fault(
        light=lambda light, x, _: light * (1 - 0.15 * np.exp(-(((x - 16) / 1.5) ** 2)))
    ),
    "defocus": _one(focus_error_mm=lambda seed: 0.9 * signed(seed)),
    "tilt": _one(tilt_y_deg=lambda seed: 4.5 * signed(seed)),
    "curl": _one(
        curl_mm=lambda seed: 1.4 * signed(seed), curl_axis_deg=lambda seed: (90.0, 60.0)[seed % 2]
    ),
    "motion blur": _one(motion_um=lambda seed: (45.0, 45.0 * signed(seed))),
    "motion along an axis": _one(motion_um=lambda seed: ((60.0, 0), (0, 60.0))[seed % 2]),
    "sharpening": _one(sharpening=lambda _: 2.0, sharpening_px=lambda _: 2.0),
    "marks missing": Fault(place=lambda x, y: (np.where((x > 26) & (y > 16), -50.0, x), y)),
    "mirror image": Fault(coded=lambda coded: np.ascontiguousarray(coded[:, ::-1])),
}
"""One fault each at a size that does harm; the finding that it must be named by comes first."""
