"""Even light by a photograph of blank paper, and a black level by one with the lens capped."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture.capture import Capture
from dotloupe.capture.mosaic import FULL, PEDESTAL, pedestal_curve
from dotloupe.capture.paper_level import paper_level
from dotloupe.errors import InputError

BLOCKS = 128
"""Blocks along the longest side that the light is averaged over: a few tenths of a millimetre,
finer than any lamp's pattern, while the paper's relief and the shot's noise average to about
0.1 %. Pixel by pixel the division would add more noise than the pixels' unlike gains have."""
RIM = 3
PREVIEW_PX = 1000
STRIP_ROWS = 256
DARKEST_BLANK = 0.02
FULL_SHARE = 0.005
ROUGHEST = 0.03
"""Blocks of blank paper differ less than this from their neighbours; printed ones differ more."""


def with_flat_field(capture: Capture, blank: Capture, dark: Capture | None = None) -> Capture:
    """Divide out the light that a photograph of blank paper shows.

    Parameters
    ----------
    capture : Capture
        The photograph to correct.
    blank : Capture
        The same paper without print, same lamps, lens and aperture; its exposure is free.
    dark : Capture, optional
        The same exposure with the lens capped; its smooth level is taken from both.

    Returns
    -------
    Capture
        With 16-bit pixels of its own, linear; full pixels are still full.

    Raises
    ------
    InputError
        Frames of unlike size, or a blank that is not evenly lit blank paper within its range.
    """
    for other in (blank, dark):
        if other is not None and other.shape != capture.shape:
            size = f"{other.shape[1]} x {other.shape[0]}"
            raise InputError(
                f"{other.path}: {size} pixels, unlike {capture.name}; take it with the same camera"
            )
    veil = np.zeros((1, 1, 3), np.float32) if dark is None else _smooth_light(dark)
    light = _smooth_light(blank) - veil
    _check_blank(blank, light)
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


def _smooth_light(capture: Capture) -> FloatArray:
    """Linear light averaged over blocks, (blocks, blocks, 3), with a rim beyond the frame."""
    import cv2

    step = max(1, min(capture.shape) // PREVIEW_PX)
    thinned = capture.linear[capture.pixels[::step, ::step]]
    rows, columns = thinned.shape[:2]
    share = BLOCKS / max(rows, columns)
    size = max(2, round(columns * share)), max(2, round(rows * share))
    blocks = cv2.resize(thinned, size, interpolation=cv2.INTER_AREA)
    wide = np.pad(blocks, ((2 * RIM,) * 2, (2 * RIM,) * 2, (0, 0)), "reflect", reflect_type="odd")
    smooth = cv2.GaussianBlur(wide, (0, 0), 1.0)[RIM:-RIM, RIM:-RIM]
    return np.asarray(smooth, dtype=np.float32)


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
