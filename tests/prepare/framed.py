"""Frames of pictures printed by the printers of `tests/printers`, photographed, and their truth."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np
from skimage import data

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import PRINTERS
from printers.cameras import AROUND_MM, Camera, _pose, photograph
from printers.printed import MM_PER_INCH, Floats, srgb_linear

from dotloupe.capture import Capture, SentPicture, picture_of
from dotloupe.patch import Patch, framed_part
from dotloupe.prepare import draw_frame

MASTER_PPI = 600.0
CAMERA = Camera(pixels_per_mm=80.0, turn_deg=0.8, pitch_deg=0.2, yaw_deg=-0.1)


def master(name: str) -> SentPicture:
    """An open picture of scikit-image at 600 ppi, made large enough for a frame where it is not."""
    pixels = np.asarray(getattr(data, name)())
    pixels = pixels[..., :3] if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=-1)
    while pixels.shape[0] < 400 or pixels.shape[1] < 700:
        pixels = np.concatenate([pixels, pixels[:, ::-1]], axis=1)
        pixels = np.concatenate([pixels, pixels[::-1]], axis=0)
    return replace(picture_of(np.ascontiguousarray(pixels)), ppi=MASTER_PPI)


def printed_frame(printer: str, picture: SentPicture, patch: Patch, *, seed: int = 0, **options):
    """Print of a frame; `options` as of `draw_frame`."""
    drawing = draw_frame(picture, patch, **options)
    light = srgb_linear(drawing / float(np.iinfo(drawing.dtype).max))
    return PRINTERS[printer].print_drawing(light, patch.sent_ppi, seed)


def photographed(printed, camera: Camera = CAMERA, seed: int = 0) -> Capture:
    """What the package reads of a photograph."""
    with TemporaryDirectory() as folder:
        capture = photograph(printed, camera, seed=seed).to_capture(folder)
        assert capture.pixels.size
        return capture


def true_homography(printed, patch: Patch, picture: SentPicture, camera: Camera = CAMERA) -> Floats:
    """Capture pixel to the picture's own pixel, by the camera's pose alone."""
    finer = max(1, round(180 / camera.pixels_per_mm))
    sampling = camera.pixels_per_mm * finer
    frame_mm = np.array(printed.size_mm) + 2 * AROUND_MM
    columns, rows = (int(n * camera.pixels_per_mm) * finer for n in frame_mm)
    to_fine = np.array(
        [[sampling, 0, (columns - 1) / 2], [0, sampling, (rows - 1) / 2], [0, 0, 1.0]]
    )
    to_capture = np.diag([1 / finer, 1 / finer, 1.0])
    to_capture[:2, 2] = 0.5 / finer - 0.5
    from_corner = np.eye(3)
    from_corner[:2, 2] = -np.array(printed.size_mm) / 2
    mm_to_capture = to_capture @ to_fine @ _pose(camera) @ from_corner
    part = framed_part(patch, picture.shape, picture.ppi)
    return part.from_mm @ np.linalg.inv(mm_to_capture)


def off_px(found: Floats, true: Floats, shape: tuple[int, int], per_picture_px: float) -> float:
    """Rms distance of two homographies over the middle of a frame, in capture pixels."""
    rows, columns = shape
    x, y = np.meshgrid(np.linspace(0.15, 0.85, 9) * columns, np.linspace(0.25, 0.7, 7) * rows)
    at = np.stack([x.ravel(), y.ravel()], axis=-1).reshape(-1, 1, 2)
    apart = cv2.perspectiveTransform(at, found) - cv2.perspectiveTransform(at, true)
    return float(per_picture_px * np.sqrt((apart**2).sum(axis=-1).mean()))


__all__ = ["MM_PER_INCH", "master", "off_px", "photographed", "printed_frame", "true_homography"]
