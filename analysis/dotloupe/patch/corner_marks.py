"""The coded corner marks and the code that says which print this is and what was sent."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import InputError

PatchKind = Literal["detail", "tints", "contrast", "picture"]

MARK_DICTIONARY = cv2.aruco.DICT_4X4_1000
MARK_MODULES = 6
CORNERS = ("top left", "top right", "bottom right", "bottom left")
LAST_RUN = 249
LARGEST_CORNER_MM = 999
"""Farthest place in a picture's print that the code has digits for."""
PATCH_VERSION = 2
"""Raised whenever an element moves; 2 put the lines on a grid that rasters share."""
KIND_LETTERS: dict[PatchKind, str] = {
    "detail": "D",
    "tints": "T",
    "contrast": "C",
    "picture": "P",
}


@dataclass(frozen=True)
class PatchCode:
    """What the small code beside the marks says of its patch.

    `corner_mm` is where the part of a picture that is framed has its upper left corner in the
    picture's print, in whole mm; None of other kinds.
    """

    version: int
    kind: PatchKind
    run: int
    sent_ppi: int
    corner_mm: tuple[int, int] | None = None


@cache
def mark_dictionary() -> cv2.aruco.Dictionary:
    """The open set of coded squares that the corner marks are taken from."""
    return cv2.aruco.getPredefinedDictionary(MARK_DICTIONARY)


def _mark_id(run: int, corner: int) -> int:
    """Id of the mark in a corner (0 top left, clockwise) of a run's patch."""
    if not 0 <= run <= LAST_RUN:
        raise InputError(f"run {run}: choose a run number from 0 to {LAST_RUN}")
    return 4 * run + corner


def mark_modules(run: int, corner: int) -> FloatArray:
    """Reflectance (0 or 1) of a mark's modules, shape (6, 6), border included."""
    image = cv2.aruco.generateImageMarker(mark_dictionary(), _mark_id(run, corner), MARK_MODULES)
    return (np.asarray(image).reshape(MARK_MODULES, MARK_MODULES) > 127).astype(float)


def code_text(code: PatchCode) -> str:
    """Text of a patch's code, in the alphabet of QR's alphanumeric mode (ISO/IEC 18004)."""
    corner = "" if code.corner_mm is None else " {:03d}{:03d}".format(*code.corner_mm)
    return f"DL{code.version}{KIND_LETTERS[code.kind]} {code.run} {code.sent_ppi}{corner}"


def parse_code(text: str) -> PatchCode | None:
    """Read a code's text back; None where it is not one of a patch."""
    found = re.fullmatch(
        r"DL([0-9]{1,2})([DTCP]) ([0-9]{1,3}) ([0-9]{1,5})(?: ([0-9]{3})([0-9]{3}))?", text
    )
    if found is None or (found[2] == "P") != (found[5] is not None):
        return None
    kinds = {letter: kind for kind, letter in KIND_LETTERS.items()}
    corner = None if found[5] is None else (int(found[5]), int(found[6]))
    return PatchCode(int(found[1]), kinds[found[2]], int(found[3]), int(found[4]), corner)


def code_modules(code: PatchCode) -> FloatArray:
    """Reflectance (0 or 1) of the QR code's modules, shape (21, 21), without its quiet zone."""
    settings = cv2.QRCodeEncoder.Params()
    settings.version = 1
    settings.correction_level = cv2.QRCODE_ENCODER_CORRECT_LEVEL_M
    settings.mode = cv2.QRCODE_ENCODER_MODE_ALPHANUMERIC
    image = np.asarray(cv2.QRCodeEncoder.create(settings).encode(code_text(code)))
    dark = np.argwhere(image < 128)
    (top, left), (bottom, right) = dark.min(axis=0), dark.max(axis=0) + 1
    return (image[top:bottom, left:right] > 127).astype(float)
