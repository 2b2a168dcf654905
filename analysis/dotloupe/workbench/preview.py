"""Small pictures of photographs, to be looked at in the browser."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from threading import Lock

import numpy as np

from dotloupe.capture import load_capture
from dotloupe.errors import InputError
from dotloupe.patch import srgb_encode

SMALL_PX, LARGE_PX = 480, 1800
QUALITY = 82
MOST_KEPT = 400
PAPER_LIGHT = 0.9

_one_at_a_time = Lock()


def preview(path: Path, longest_px: int, *, paper_white: bool = True) -> bytes:
    """Return a picture as a JPEG no longer than so many pixels; a photograph's paper near white.

    Raises
    ------
    InputError
        It cannot be read.
    """
    try:
        stamp = path.stat().st_mtime_ns
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from error
    return _preview(path, stamp, longest_px, paper_white)


@lru_cache(MOST_KEPT)
def _preview(path: Path, _stamp: int, longest_px: int, paper_white: bool) -> bytes:
    import cv2

    with _one_at_a_time:
        capture = load_capture(path)
        rows, columns = capture.shape
        shrink = min(1.0, longest_px / max(rows, columns))
        size = (max(1, round(columns * shrink)), max(1, round(rows * shrink)))
        small = cv2.resize(capture.pixels, size, interpolation=cv2.INTER_AREA)
        light = capture.linear[small]
        if paper_white:
            light = PAPER_LIGHT * light / capture.paper_level.astype(np.float32)
        coded = np.round(255 * srgb_encode(np.clip(light, 0, 1))).astype(np.uint8)
        done, data = cv2.imencode(".jpg", coded[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    if not done:
        raise InputError(f"{path}: no small picture can be made of it; export it again")
    return data.tobytes()
