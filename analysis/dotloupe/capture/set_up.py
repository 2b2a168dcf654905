"""The set-up that a photograph was taken in, as far as its file and its marks tell."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import PurePath
from typing import TYPE_CHECKING

from dotloupe.capture.raw_file import RAW_SUFFIXES

if TYPE_CHECKING:
    from dotloupe.capture.capture import Capture

ALIKE_SUFFIXES = {".jpeg": "JPG", ".jpg": "JPG", ".tiff": "TIF"}


class SetUpPart(StrEnum):
    """What photographs of one comparison must share."""

    CAMERA = "camera"
    SAMPLING = "sampling"
    FILE_KIND = "kind of file"
    TONE = "tone"


@dataclass(frozen=True)
class SetUp:
    """Camera, sampling, kind of file and tone of one photograph.

    Attributes
    ----------
    camera : str
        Maker and model; empty where the file is silent.
    pixels_per_mm : float
        On the print.
    file_kind : str
        "camera file" of a raw file, else the ending of its name.
    mid_tone : float
        Linear light of the middle pixel value, by the file's profile: 0.21 in sRGB, 0.5 where
        values are linear.
    lens, taken : str
        Lens, and day and time by the camera's clock; empty where the file is silent.
    f_number : float or None
        Aperture as marked.
    pixel_pitch_um : float or None
        Of the sensor.
    """

    camera: str
    pixels_per_mm: float
    file_kind: str
    mid_tone: float
    lens: str = ""
    taken: str = ""
    f_number: float | None = None
    pixel_pitch_um: float | None = None


def set_up_of(capture: Capture, pixels_per_mm: float) -> SetUp:
    """What a capture tells of its set-up.

    Parameters
    ----------
    capture : Capture
    pixels_per_mm : float
        On the print, by its registration.
    """
    suffix = PurePath(capture.path).suffix.lower()
    kind = (
        "camera file" if suffix in RAW_SUFFIXES else ALIKE_SUFFIXES.get(suffix, suffix[1:].upper())
    )
    settings = capture.settings
    return SetUp(
        camera=f"{settings.maker} {settings.model}".strip(),
        pixels_per_mm=float(pixels_per_mm),
        file_kind=kind,
        mid_tone=float(capture.linear[len(capture.linear) // 2]),
        lens=settings.lens,
        taken=settings.taken,
        f_number=settings.f_number,
        pixel_pitch_um=settings.pixel_pitch_um,
    )
