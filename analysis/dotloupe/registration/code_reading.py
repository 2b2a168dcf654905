"""Read the small code of a patch, once its place is known."""

from __future__ import annotations

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture
from dotloupe.patch import (
    HIGHEST_PPI,
    LOWEST_PPI,
    PatchCode,
    PatchKind,
    Region,
    code_modules,
    parse_code,
    patch_regions,
)
from dotloupe.registration.homography import map_points
from dotloupe.registration.reduced_images import reduced_green, reduction_matrix

QUIET_MODULES = 4
PIXELS_PER_MODULE = 8
READ_AT_PX = 16
"""Pixels of a module in the picture that is read; finer ones are averaged."""
PRESENT_PATTERN = 0.02
SHARES_OF_NEIGHBOURS = (0.0, 0.6)
"""Of the mean of its four neighbours, taken out of a module as what blur brought into it: tried
one after the other, as the code's own redundancy says which is right."""


def read_code(capture: Capture, homography: FloatArray, run: int) -> PatchCode | None:
    """Read which kind of patch this is and what was sent; None where the code cannot be read.

    The modules are sampled at the places where the homography (capture pixel to patch mm) has
    them, so that a code of barely more than a pixel a module can still be decoded.

    Parameters
    ----------
    capture : Capture
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    run : int
        Run of the marks; a code of another run is not accepted.
    """
    modules = code_modules(PatchCode(1, "detail", 0, 600)).shape[0]
    kinds: tuple[PatchKind, ...] = ("detail", "tints", "contrast", "picture")
    for kind in kinds:
        region = patch_regions(kind)["code"]
        values = _module_values(capture, homography, region, modules)
        for share in SHARES_OF_NEIGHBOURS:
            code = parse_code(_decode(_sharpened(values, share)))
            if code is None or (code.run, code.kind) != (run, kind):
                continue
            if LOWEST_PPI <= code.sent_ppi <= HIGHEST_PPI:
                return code
    return None


def _module_values(
    capture: Capture, homography: FloatArray, region: Region, modules: int
) -> FloatArray:
    centres = (np.arange(modules) + 0.5) * region.width_mm / modules
    x, y = np.meshgrid(region.x_mm + centres, region.y_mm + centres)
    points = map_points(np.linalg.inv(homography), np.column_stack([x.ravel(), y.ravel()]))
    (left, top), (right, bottom) = points.min(axis=0) - 4, points.max(axis=0) + 5
    height, width = capture.shape
    rows = slice(max(int(top), 0), min(int(bottom), height))
    columns = slice(max(int(left), 0), min(int(right), width))
    module_px = float(np.hypot(*(points[1] - points[0])))
    step = max(1, int(module_px / READ_AT_PX))
    if min(rows.stop - rows.start, columns.stop - columns.start) // step < modules // 2:
        return np.ones((modules, modules))
    image = reduced_green(capture, step, rows, columns)
    to_image = np.linalg.inv(reduction_matrix(step, (columns.start, rows.start)))
    local = map_points(to_image, points).astype(np.float32).reshape(modules, modules, 2)
    smooth = cv2.GaussianBlur(image, (0, 0), max(0.25 * module_px / step, 0.1))
    values = cv2.remap(smooth, local[..., 0], local[..., 1], cv2.INTER_CUBIC)
    return np.asarray(values, dtype=float)


def _sharpened(values: FloatArray, share: float) -> FloatArray:
    around = np.array([[0, 1, 0], [1, 0, 1], [0, 1, 0]]) / 4
    neighbours = cv2.filter2D(values, -1, around, borderType=cv2.BORDER_REPLICATE)
    return values + share * (values - neighbours)


def _decode(values: FloatArray) -> str:
    """Text of a grid of module reflectances, by a general-purpose decoder.

    It is told where the corners are: its own search misses some faultless codes.
    """
    low, high = np.percentile(values, [10, 90])
    if high - low < PRESENT_PATTERN:
        return ""
    light = np.pad(values > (low + high) / 2, QUIET_MODULES, constant_values=True)
    size = (PIXELS_PER_MODULE, PIXELS_PER_MODULE)
    image = np.kron(light, np.ones(size)).astype(np.uint8) * np.uint8(255)
    first = QUIET_MODULES * PIXELS_PER_MODULE
    last = image.shape[0] - first - 1
    corners = np.array([(first, first), (last, first), (last, last), (first, last)], np.float32)
    text, _ = cv2.QRCodeDetector().decode(image, corners[None])
    return str(text)
