"""What a file says of the camera: body, lens, exposure, orientation."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO

if TYPE_CHECKING:
    from collections.abc import Mapping

RESOLUTION_UNITS_MM = {2: 25.4, 3: 10.0}
"""Lengths that a file's resolution is given in: inch and centimetre (TIFF 6.0)."""
FOCAL_PLANE_UNITS_MM = {**RESOLUTION_UNITS_MM, 4: 1.0, 5: 0.001}
"""The same of the focal plane; millimetre and micrometre after TIFF/EP (from memory)."""
SENSOR_PITCHES_UM = (0.4, 30.0)
"""Pixels that sensors have; other values are a filler."""
FARTHEST_M = 2.0
"""A patch further off is too small to be measured."""
LEAST_SCANNER_PER_MM = 599.9 / 25.4
"""A PNG states 600 pixels an inch as 23622 a metre, which is 599.999."""


@dataclass(frozen=True)
class CameraSettings:
    """Camera, lens and exposure by EXIF (CIPA DC-008); empty or None where the file is silent.

    Attributes
    ----------
    maker, model, lens : str
    exposure_s : float or None
        Exposure time.
    f_number : float or None
        Aperture as marked.
    iso : int or None
        Sensitivity set.
    focal_length_mm : float or None
    pixel_pitch_um : float or None
        Pitch of the pixels on the sensor, by the resolution of the focal plane.
    distance_mm : float or None
        From the lens to what is focused on, where the file states one.
    taken : str
        Date and time by the camera's clock, "YYYY:MM:DD HH:MM:SS".
    orientation : int
        1 to 8; pixels of a `Capture` are upright already.
    colour_space : str
        "sRGB" where EXIF declares it, else empty.
    pixels_per_mm : float or None
        On the print, where the file carries a resolution that is a scanner's and no camera's
        filler: 600 pixels per inch or more.
    """

    maker: str = ""
    model: str = ""
    lens: str = ""
    exposure_s: float | None = None
    f_number: float | None = None
    iso: int | None = None
    focal_length_mm: float | None = None
    pixel_pitch_um: float | None = None
    distance_mm: float | None = None
    taken: str = ""
    orientation: int = 1
    colour_space: str = ""
    pixels_per_mm: float | None = None


def camera_settings(file: BinaryIO) -> CameraSettings:
    """Read the EXIF of a photograph of any kind; silent where there is none or it is broken.

    Parameters
    ----------
    file : binary file
        Open for reading; read from its start.
    """
    import exifread

    logging.getLogger("exifread").setLevel(logging.CRITICAL)
    file.seek(0)
    try:
        tags = exifread.process_file(file, details=False)
    except Exception:  # noqa: BLE001  the reader raises many kinds on broken EXIF
        return CameraSettings(pixels_per_mm=_density(file))
    iso = _number(tags, "EXIF ISOSpeedRatings", "Image ISOSpeedRatings")
    orientation = _number(tags, "Image Orientation") or 1
    return CameraSettings(
        maker=_words(tags, "Image Make"),
        model=_words(tags, "Image Model", "Image Tag 0xC614"),
        lens=_words(tags, "EXIF LensModel", "Image LensModel"),
        exposure_s=_number(tags, "EXIF ExposureTime", "Image ExposureTime"),
        f_number=_number(tags, "EXIF FNumber", "Image FNumber"),
        iso=None if iso is None else round(iso),
        focal_length_mm=_number(tags, "EXIF FocalLength", "Image FocalLength"),
        pixel_pitch_um=_pixel_pitch_um(tags),
        distance_mm=_distance_mm(tags),
        taken=_words(tags, "EXIF DateTimeOriginal", "Image DateTime"),
        orientation=round(orientation) if orientation in range(1, 9) else 1,
        colour_space="sRGB" if _number(tags, "EXIF ColorSpace") == 1 else "",
        pixels_per_mm=_pixels_per_mm(tags) or _density(file),
    )


def _pixels_per_mm(tags: Mapping[str, Any]) -> float | None:
    unit_mm = RESOLUTION_UNITS_MM.get(int(_number(tags, "Image ResolutionUnit") or 0))
    per_unit = _number(tags, "Image XResolution")
    if unit_mm is None or per_unit is None or per_unit < LEAST_SCANNER_PER_MM * unit_mm:
        return None
    return per_unit / unit_mm


def _pixel_pitch_um(tags: Mapping[str, Any]) -> float | None:
    """Pitch by FocalPlaneXResolution, pixels to a unit, where it is one that sensors have."""
    unit = int(
        _number(tags, "EXIF FocalPlaneResolutionUnit", "Image FocalPlaneResolutionUnit") or 2
    )
    per_unit = _number(tags, "EXIF FocalPlaneXResolution", "Image FocalPlaneXResolution")
    unit_mm = FOCAL_PLANE_UNITS_MM.get(unit)
    if unit_mm is None or not per_unit or per_unit <= 0:
        return None
    pitch_um = 1000.0 * unit_mm / per_unit
    low, high = SENSOR_PITCHES_UM
    return pitch_um if low <= pitch_um <= high else None


def _density(file: BinaryIO) -> float | None:
    """Pixels per mm by a JPEG's JFIF density or a PNG's pHYs, where it is a scanner's."""
    from PIL import Image

    try:
        file.seek(0)
        with Image.open(file, formats=("JPEG", "PNG")) as header:
            per_inch = header.info.get("dpi", (0, 0))[0]
    except Exception:  # noqa: BLE001  broken files are named when they are decoded
        return None
    per_mm = float(per_inch) / RESOLUTION_UNITS_MM[2]
    return per_mm if per_mm >= LEAST_SCANNER_PER_MM else None


def _distance_mm(tags: Mapping[str, Any]) -> float | None:
    """Subject distance, stated in metres: 0 is unknown, and far away is infinity (EXIF 2.3)."""
    metres = _number(tags, "EXIF SubjectDistance")
    return 1000 * metres if metres is not None and 0 < metres < FARTHEST_M else None


def _values(tags: Mapping[str, Any], names: tuple[str, ...]) -> Any:
    return next((tags[name].values for name in names if name in tags), None)


def _words(tags: Mapping[str, Any], *names: str) -> str:
    values = _values(tags, names)
    return values.strip("\0 ") if isinstance(values, str) else ""


def _number(tags: Mapping[str, Any], *names: str) -> float | None:
    values = _values(tags, names)
    try:
        return float(values[0])
    except (TypeError, ValueError, IndexError, ZeroDivisionError):
        return None
