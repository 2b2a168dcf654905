"""Even light by a photograph of blank paper, and a black level by one with the lens capped."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import Capture
from dotloupe.capture.loading import load_capture
from dotloupe.capture.mosaic import FULL, PEDESTAL, pedestal_curve
from dotloupe.capture.paper_level import POWERS, paper_level
from dotloupe.errors import InputError

BLOCKS = 128
"""Blocks along the longest side that the light is averaged over: a few tenths of a millimetre.
Pixel by pixel the division would add more noise than the pixels' unlike gains have."""
SMOOTHING_BLOCKS = 4
"""About 1 mm, finer than any lamp's pattern. With 1 block the relief of the blank sheet changed the
visible grain of tints on a simulated print by 5 %, with 4 by 0.1 %."""
CHECK_BLOCKS = 1
RIM = 3
PREVIEW_PX = 1000
STRIP_ROWS = 256
DARKEST_BLANK = 0.02
FULL_SHARE = 0.005
ROUGHEST = 0.03
"""Blocks of blank paper differ less than this from their neighbours; printed ones differ more."""


@dataclass(frozen=True)
class FlatField:
    """The light over the frame, by a photograph of blank paper.

    Attributes
    ----------
    path, sha256 : str
        The photograph of blank paper.
    shape : (int, int)
        Rows and columns of its frame.
    light : ndarray of shape (blocks, blocks, 3)
        Linear light averaged over blocks, with a rim beyond the frame.
    veil : ndarray of shape (blocks, blocks, 3), or (1, 1, 3)
        Level of a frame with the lens capped, likewise; 0 where none was given.
    """

    path: str
    sha256: str
    shape: tuple[int, int]
    light: FloatArray
    veil: FloatArray


def load_flat_field(path: Path) -> FlatField:
    """Read a photograph of blank paper.

    Raises
    ------
    InputError
        It cannot be read, or `flat_field` refuses it.
    """
    return flat_field(load_capture(path))


def flat_field(blank: Capture, dark: Capture | None = None) -> FlatField:
    """Find the light over the frame.

    Parameters
    ----------
    blank : Capture
        The same paper without print, same lamps, lens and aperture; its exposure is free.
    dark : Capture, optional
        The same exposure with the lens capped; its smooth level is taken from the blank and from
        what is corrected.

    Raises
    ------
    InputError
        Frames of unlike size, or a blank that is not evenly lit blank paper within its range.
    """
    if dark is not None:
        _check_size(dark, blank.path, blank.shape)
    blocks = _blocks(blank)
    none = np.zeros((1, 1, 3), np.float32)
    unlit = none if dark is None else _blocks(dark)
    _check_blank(blank, _smoothed(blocks - unlit, CHECK_BLOCKS))
    veil = none if dark is None else _smoothed(unlit, SMOOTHING_BLOCKS)
    light = _smoothed(blocks, SMOOTHING_BLOCKS) - veil
    return FlatField(blank.path, blank.sha256, blank.shape, light, veil)


def with_flat_field(capture: Capture, field: FlatField) -> Capture:
    """Divide out the light over the frame.

    Parameters
    ----------
    capture : Capture
        The photograph to correct.
    field : FlatField
        Taken in the same set-up.

    Returns
    -------
    Capture
        With 16-bit pixels of its own, linear; full pixels are still full.

    Raises
    ------
    InputError
        The frames are of unlike size.
    """
    _check_size(capture, field.path, field.shape)
    light, veil = field.light, field.veil
    gain = light.max(axis=(0, 1)) / light
    pixels = np.empty((*capture.shape, 3), dtype=np.uint16)
    full = len(capture.linear) - 1
    for top in range(0, len(pixels), STRIP_ROWS):
        rows = slice(top, min(top + STRIP_ROWS, len(pixels)))
        coded = capture.pixels[rows]
        strip = capture.linear[coded]
        strip -= _enlarged(veil, capture.shape, rows)
        strip *= _enlarged(gain, capture.shape, rows)
        strip *= np.float32(FULL - PEDESTAL)
        strip += np.float32(PEDESTAL + 0.5)
        strip[coded == full] = FULL
        pixels[rows] = np.clip(strip, 0, FULL, out=strip)
    curve = pedestal_curve()
    step = max(1, min(capture.shape) // PREVIEW_PX)
    level = paper_level(curve[pixels[::step, ::step]])
    return replace(capture, pixels=pixels, linear=curve, paper_level=level)


def _check_size(capture: Capture, blank: str, shape: tuple[int, int]) -> None:
    if capture.shape != shape:
        own, other = (f"{columns} x {rows}" for rows, columns in (capture.shape, shape))
        raise InputError(
            f"{capture.path}: {own} pixels, unlike the blank paper of {blank} with {other}; take "
            "both with one camera, unrotated and uncropped"
        )


def _blocks(capture: Capture) -> FloatArray:
    """Linear light averaged over blocks, (blocks, blocks, 3)."""
    import cv2

    step = max(1, min(capture.shape) // PREVIEW_PX)
    thinned = capture.linear[capture.pixels[::step, ::step]]
    rows, columns = thinned.shape[:2]
    share = BLOCKS / max(rows, columns)
    size = max(2, round(columns * share)), max(2, round(rows * share))
    return np.asarray(cv2.resize(thinned, size, interpolation=cv2.INTER_AREA), np.float32)


def _smoothed(blocks: FloatArray, deviation: int) -> FloatArray:
    """Smooth with a rim beyond the frame: a polynomial, and a Gaussian over what it leaves.

    The Gaussian's standard deviation is in blocks. Alone it would bend the light at the borders.
    """
    import cv2

    rows, columns = blocks.shape[:2]
    y, x = np.mgrid[-RIM : rows + RIM, -RIM : columns + RIM] / max(rows, columns)
    terms = np.stack([x**i * y**j for i, j in POWERS], axis=-1)
    inside = terms[RIM:-RIM, RIM:-RIM].reshape(-1, len(POWERS))
    trend = terms @ np.linalg.lstsq(inside, blocks.reshape(-1, 3), rcond=None)[0]
    reach = 4 * deviation
    around = (RIM + reach,) * 2
    left = blocks - trend[RIM:-RIM, RIM:-RIM]
    wide = np.pad(left, (around, around, (0, 0)), "reflect", reflect_type="odd")
    smooth = cv2.GaussianBlur(wide, (0, 0), deviation)[reach:-reach, reach:-reach]
    return np.asarray(trend + smooth, dtype=np.float32)


def _check_blank(blank: Capture, light: FloatArray) -> None:
    full = len(blank.linear) - 1
    if np.mean(blank.pixels[::7, ::7] == full) > FULL_SHARE:
        raise InputError(f"{blank.path}: the blank paper is overexposed; expose it less")
    if light.min() < DARKEST_BLANK:
        raise InputError(
            f"{blank.path}: too dark for blank paper; give the bare sheet more exposure"
        )
    green = np.log(light[..., 1])
    steps = np.concatenate([np.abs(np.diff(green, axis=axis)).ravel() for axis in (0, 1)])
    if np.percentile(steps, 99) > ROUGHEST:
        raise InputError(
            f"{blank.path}: not blank paper, or lit in patches; photograph the bare sheet"
        )


def _enlarged(blocks: FloatArray, shape: tuple[int, int], rows: slice) -> FloatArray:
    """Rows of the blocks stretched over a frame, linear between their centres."""
    if blocks.shape[:2] == (1, 1):
        return blocks
    wide = _stretched(np.swapaxes(blocks, 0, 1), shape[1], slice(0, shape[1]))
    return _stretched(np.swapaxes(wide, 0, 1), shape[0], rows)


def _stretched(blocks: FloatArray, length: int, part: slice) -> FloatArray:
    """Stretch the first axis of blocks with a rim over a length, and take a part of it."""
    inside = blocks.shape[0] - 2 * RIM
    place = (np.arange(part.start, part.stop) + 0.5) * inside / length - 0.5 + RIM
    before = place.astype(int)
    share = (place - before).astype(np.float32)[:, None, None]
    earlier: FloatArray = blocks[before] * (1 - share)
    return earlier + blocks[before + 1] * share
