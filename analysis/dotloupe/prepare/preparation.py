"""A picture prepared: resampled to the resolution sent, and sharpened where it is asked."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import FloatArray
from dotloupe.capture import LUMINANCE, RAW_SUFFIXES, SentPicture, UnusableProfile, load_picture
from dotloupe.errors import InputError
from dotloupe.patch import HIGHEST_PPI, LOWEST_PPI, size_at, srgb_profile
from dotloupe.prepare.picture_file import write_picture
from dotloupe.prepare.resampling import Resize, resampled
from dotloupe.prepare.sharpening import AxisSharpening, axis_sharpening, sharpening_kernel

if TYPE_CHECKING:
    from dotloupe.prepare.response_file import PrinterResponse

DEFAULT_RESIZE: Resize = "lanczos"
MOST_MEGAPIXELS = 500.0
LEAST_LIGHT = 1e-5
"""Luminance below which a pixel has no colour to keep."""


@dataclass(frozen=True)
class Prepared:
    """A picture ready to send.

    Attributes
    ----------
    pixels : ndarray of shape (rows, columns, 3), uint8 or uint16
        As deep as the picture's own.
    ppi : float
    profile : bytes
        The picture's own, or sRGB.
    profile_assumed : bool
        It has none, or none that can be used, so that sRGB was assumed.
    resize : str
        Method by which it was resampled; empty where its size is the picture's own.
    sharpening : mapping of axis to AxisSharpening
        Empty where none was asked for.
    clipped : float
        Share of the pixels that sharpening brought to black or white.
    """

    pixels: NDArray[np.unsignedinteger[Any]]
    ppi: float
    profile: bytes
    profile_assumed: bool
    resize: str
    sharpening: dict[str, AxisSharpening]
    clipped: float

    def save(self, path: Path) -> Path:
        """Write it as TIFF, PNG or JPEG, as its name ends.

        Raises
        ------
        InputError
            It cannot be written so.
        """
        write_picture(path, self.pixels, self.ppi, self.profile)
        return path


def load_master(path: Path, print_width_mm: float) -> SentPicture:
    """Read the picture that a file is to be made of.

    Raises
    ------
    InputError
        As `load_picture`, and for a camera file.
    """
    if path.suffix.lower() in RAW_SUFFIXES:
        raise InputError(f"{path}: a camera file; develop it, and give a TIFF of 16 bits a channel")
    return load_picture(path, print_width_mm)


def prepare(
    picture: SentPicture,
    ppi: float,
    *,
    resize: Resize = DEFAULT_RESIZE,
    response: PrinterResponse | None = None,
) -> Prepared:
    """Resample a picture of known printed size in linear light, and sharpen its luminance.

    Where its size is the one asked for and no sharpening is, its pixels stay as they are.

    Parameters
    ----------
    picture : SentPicture
        With its ppi.
    ppi : float
        Pixels per inch to send.
    resize : {"area", "bilinear", "bicubic", "lanczos"}
    response : PrinterResponse, optional
        Of the printer, to sharpen for.

    Raises
    ------
    InputError
        A resolution or a size out of range.
    """
    size = _sent_size(picture, ppi)
    resized = size != picture.shape
    profile, assumed = profile_of(picture)
    axes = {} if response is None else _sharpening(response, ppi)
    pixels, clipped = picture.pixels, 0.0
    if resized or axes:
        light = [resampled(picture.linear[picture.pixels[..., c]], size, resize) for c in range(3)]
        if axes:
            light, clipped = _sharpened(light, sharpening_kernel(axes["x"], axes["y"], ppi))
        pixels = coded(light, picture)
    return Prepared(pixels, ppi, profile, assumed, resize if resized else "", axes, clipped)


def _sent_size(picture: SentPicture, ppi: float) -> tuple[int, int]:
    """Rows and columns of a picture at another resolution."""
    if picture.ppi is None:
        raise InputError(f"{picture.path}: its printed size is unknown; give --print-width-mm")
    if not LOWEST_PPI <= ppi <= HIGHEST_PPI:
        raise InputError(f"{ppi:g} ppi: choose from {LOWEST_PPI} to {HIGHEST_PPI}")
    rows, columns = size_at(picture.shape, picture.ppi, ppi)
    if rows * columns > MOST_MEGAPIXELS * 1e6:
        raise InputError(
            f"{picture.path}: {columns} x {rows} pixels to send, over {MOST_MEGAPIXELS:g} "
            "megapixels; give a lower ppi or a narrower print"
        )
    return rows, columns


def coded(light: list[FloatArray], picture: SentPicture) -> NDArray[np.unsignedinteger[Any]]:
    """Pixel values, as deep as a picture's own, of linear light in its channels."""
    levels = len(picture.linear)
    curve = np.maximum.accumulate(picture.linear.astype(float))
    out = np.empty((*light[0].shape, 3), picture.pixels.dtype)
    for channel, plane in enumerate(light):
        out[..., channel] = np.rint(np.interp(plane, curve, np.arange(levels)))
    return out


def profile_of(picture: SentPicture) -> tuple[bytes, bool]:
    """Profile of a picture, sRGB where it has none that can be used, and whether that is so."""
    usable = not any(isinstance(w, UnusableProfile) for w in picture.warnings)
    if picture.profile is None or not usable:
        return srgb_profile(), True
    return picture.profile, False


def _sharpening(response: PrinterResponse, ppi: float) -> dict[str, AxisSharpening]:
    return {
        axis: axis_sharpening(found.frequency, found.response, found.error, ppi)
        for axis, found in response.axes.items()
    }


def _sharpened(light: list[FloatArray], kernel: FloatArray) -> tuple[list[FloatArray], float]:
    """Filter the luminance, colours kept; and the share of pixels that clips by it."""
    import cv2

    def luminance(planes: list[FloatArray]) -> FloatArray:
        return np.asarray(sum(w * p for w, p in zip(LUMINANCE, planes, strict=True)))

    before = luminance(light)
    # correlation: the kernel is even
    after = cv2.filter2D(before, -1, kernel.astype(np.float32), borderType=cv2.BORDER_REFLECT_101)
    ratio = np.maximum(after, 0) / np.maximum(before, LEAST_LIGHT)
    lost = np.zeros(before.shape, bool)
    sharpened: list[FloatArray] = []
    for plane in light:
        changed = plane * ratio
        lost |= (changed > 1) & (plane <= 1)
        sharpened.append(changed)
    lost |= (after <= 0) & (before > 0)
    return sharpened, float(lost.mean())
