"""Pictures of prints for looking at: the same millimetres of every setting at the same scale.

They are resampled through the registration, so they are for the eye; every number is measured on
the photographs' own pixels.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import DotloupeError, InputError
from dotloupe.measurement import (
    Measurement,
    PatchMeasurement,
    PictureMeasurement,
    SourceFile,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture, ExposurePair, FlatField, Lighting

PAPER_LEVEL = 0.88
"""Linear light at which paper is shown, so that highlights above it keep their detail."""

NO_PLACE = "where it lies on its patch is not known"


@dataclass(frozen=True)
class Box:
    """A rectangle of a patch in mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class View:
    """A box of a patch as it is to be shown, and the quality of its JPEG."""

    box: Box
    pixels_per_mm: float
    quality: int


@dataclass(frozen=True)
class Photograph:
    """A capture read again, with where it lies on its patch."""

    capture: Capture
    homography: FloatArray
    lighting: Lighting | None
    pixels_per_mm: float

    def picture(self, box: Box, pixels_per_mm: float) -> NDArray[np.uint8]:
        """Show a box of the patch as sRGB, shape (rows, columns, 3), paper of one tone throughout.

        Parameters
        ----------
        box : Box
            What lies outside the photograph is shown black.
        pixels_per_mm : float
            Of the picture. Finer pixels of the photograph are averaged by area in linear light.
        """
        from dotloupe.registration import patch_picture

        right, bottom = box.x_mm + box.width_mm, box.y_mm + box.height_mm
        light = patch_picture(
            self.capture,
            self.homography,
            self.lighting,
            box_mm=(box.x_mm, box.y_mm, right, bottom),
            pixels_per_mm=pixels_per_mm,
        )
        levels = np.clip(light * (PAPER_LEVEL * 4095), 0, 4095).astype(np.uint16)
        return _srgb_table().take(levels)


@dataclass(frozen=True)
class Unseen:
    """Why a capture cannot be shown."""

    reason: str


def encoded(picture: NDArray[np.uint8], quality: int) -> bytes:
    """Return a picture as JPEG."""
    import cv2

    options = [
        cv2.IMWRITE_JPEG_QUALITY,
        quality,
        cv2.IMWRITE_JPEG_OPTIMIZE,
        1,
    ]
    return cv2.imencode(".jpg", picture[..., ::-1], options)[1].tobytes()


def photograph(measurement: Measurement) -> Photograph | Unseen:
    """Read the capture of a measurement again, if it is still the one that was measured."""
    from dotloupe.capture import load_capture, with_flat_field

    registration = measurement.registration
    printed = None if registration is None else registration.printed
    if registration is None or printed is None:
        return Unseen(NO_PLACE)
    try:
        capture = load_capture(Path(measurement.path))
        if (pair := measurement.parameters.exposures_file) is not None:
            from dotloupe.capture import with_exposure_pair

            capture = with_exposure_pair(capture, _exposure_pair(pair))
        if (blank := measurement.parameters.blank_file) is not None:
            capture = with_flat_field(capture, _flat_field(blank))
    except DotloupeError as error:
        return Unseen(str(error).removeprefix(f"{measurement.path}: "))
    if capture.sha256 != measurement.sha256:
        return Unseen("the file is not the one that was measured any more")
    return Photograph(
        capture,
        printed.homography,
        lighting_of(measurement),
        registration.pixels_per_mm,
    )


@lru_cache(maxsize=1)
def _flat_field(blank: SourceFile) -> FlatField:
    """Light of blank paper, if its photograph is still the one that was given."""
    from dotloupe.capture import load_flat_field

    field = load_flat_field(Path(blank.path))
    if field.sha256 != blank.sha256:
        raise InputError(f"{blank.path}: not the photograph of blank paper that was given any more")
    return field


@lru_cache(maxsize=1)
def _exposure_pair(pair: SourceFile) -> ExposurePair:
    """Tone curve of two exposures, if the brighter is still the one that was measured with."""
    from dotloupe.capture import half_of, load_exposure_pair

    half = half_of(Path(pair.path))
    found = None if half is None else load_exposure_pair(Path(pair.path), half)
    if found is None or found.sha256 != pair.sha256:
        raise InputError(f"{pair.path}: not the two exposures that were measured with any more")
    return found


def lighting_of(measurement: Measurement) -> Lighting | None:
    """How the light falls over the photograph of a measurement, where it is known."""
    if isinstance(measurement, PatchMeasurement | PictureMeasurement):
        return measurement.lighting
    return None


@lru_cache(maxsize=1)
def _srgb_table() -> NDArray[np.uint8]:
    """Return the sRGB code of 4096 levels of linear light."""
    from dotloupe.patch import srgb_encode

    return np.round(255 * srgb_encode(np.arange(4096) / 4095)).astype(np.uint8)
