"""Frames of pictures printed by the printers of `tests/printers`, photographed, and their truth."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np
from skimage import data

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import PRINTERS
from printers.cameras import AROUND_MM, Camera, _pose, photograph
from printers.printed import MARGIN_MM, MM_PER_INCH, Floats, Print, srgb_linear

from dotloupe.capture import Capture, SentPicture, picture_of
from dotloupe.patch import Patch, framed_part
from dotloupe.prepare import draw_frame

MASTER_PPI = 600.0
CAMERA = Camera(pixels_per_mm=80.0, turn_deg=0.8, pitch_deg=0.2, yaw_deg=-0.1)
DISC_MM, DISC_PITCH_MM, DISC_REACH_MM = 0.6, 1.5, 0.6
DISC_SCATTER_MM = 0.1
"""So that every phase of a raster occurs."""
DISC_DETAIL = 16


def single(name: str) -> SentPicture:
    """An open picture of scikit-image."""
    pixels = np.asarray(getattr(data, name)())
    pixels = pixels[..., :3] if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=-1)
    return picture_of(np.ascontiguousarray(pixels))


def master(name: str) -> SentPicture:
    """One of them at 600 ppi, made large enough for a frame by its mirror images."""
    pixels = single(name).pixels
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


@dataclass(frozen=True)
class PrintedPlace:
    """Where a printer puts what is sent, by the centroids of discs.

    A heat that trails, drops beside their places and a feed that is off move all that is printed;
    a registration is to find it where it is.

    Attributes
    ----------
    affine : ndarray of shape (3, 3)
        Mm of the drawing to mm of its print.
    scatter_mm : float
        Standard deviation of a disc's place along one axis.
    """

    affine: Floats
    scatter_mm: float


@lru_cache(maxsize=4)
def printed_place(printer: str, sent_ppi: float, seed: int = 0) -> PrintedPlace:
    """Print discs and find them."""
    size_mm = Patch(sent_ppi, kind="picture").size_mm
    axes = [np.arange(1.25, length - 1, DISC_PITCH_MM) for length in size_mm]
    sent = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    sent += np.random.default_rng(1).uniform(-DISC_SCATTER_MM, DISC_SCATTER_MM, sent.shape)
    columns, rows = (round(n / MM_PER_INCH * sent_ppi) for n in size_mm)
    fine = np.full((rows * DISC_DETAIL, columns * DISC_DETAIL), 255, np.uint8)
    per_mm = sent_ppi / MM_PER_INCH * DISC_DETAIL
    for place in np.rint((sent * per_mm - 0.5) * 16).astype(int):
        cv2.circle(fine, tuple(place), round(DISC_MM / 2 * per_mm * 16), 0, -1, cv2.LINE_8, 4)
    light = cv2.resize(fine, (columns, rows), interpolation=cv2.INTER_AREA) / 255.0
    printed = PRINTERS[printer].print_drawing(np.dstack([light] * 3), sent_ppi, seed)
    ink = 1 - printed.reflectance(1) / printed.paper[1]
    found = np.array([_centroid_mm(ink, printed.pixels_per_mm, place) for place in sent])
    terms = np.column_stack([sent, np.ones(len(sent))])
    fitted = np.linalg.lstsq(terms, found, rcond=None)[0]
    scatter_mm = float(np.sqrt(np.mean((found - terms @ fitted) ** 2)))
    return PrintedPlace(np.array([*fitted.T, [0, 0, 1.0]]), scatter_mm)


def _centroid_mm(ink: Floats, per_mm: float, near_mm: Floats) -> Floats:
    """Centre of the ink about a place."""
    half = round((DISC_REACH_MM + 0.1) * per_mm)
    column, row = np.rint((near_mm + MARGIN_MM) * per_mm).astype(int)
    part = ink[row - half : row + half + 1, column - half : column + half + 1]
    x = (np.arange(column - half, column + half + 1) + 0.5) / per_mm - MARGIN_MM
    y = (np.arange(row - half, row + half + 1) + 0.5) / per_mm - MARGIN_MM
    near = np.hypot(x[None] - near_mm[0], y[:, None] - near_mm[1]) < DISC_REACH_MM
    weight = np.where(near, part - np.median(part[~near]), 0).clip(0)
    return np.array([weight.sum(axis=0) @ x, weight.sum(axis=1) @ y]) / weight.sum()


def true_homography(
    printed: Print,
    patch: Patch,
    picture: SentPicture,
    camera: Camera = CAMERA,
    *,
    place: PrintedPlace | None = None,
) -> Floats:
    """Capture pixel to the picture's own pixel, by the camera's pose and the printer's place."""
    finer = max(1, round(180 / camera.pixels_per_mm))
    sampling = camera.pixels_per_mm * finer
    frame_mm = np.array(printed.size_mm) + 2 * AROUND_MM
    columns, rows = (int(n * camera.pixels_per_mm) * finer for n in frame_mm)
    to_fine = np.array(
        [[sampling, 0, (columns - 1) / 2], [0, sampling, (rows - 1) / 2], [0, 0, 1.0]]
    )
    to_capture = np.diag([1 / finer, 1 / finer, 1.0])
    to_capture[:2, 2] = 0.5 / finer - 0.5
    from_corner = np.eye(3) if place is None else place.affine.copy()
    from_corner[:2, 2] -= np.array(printed.size_mm) / 2
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
