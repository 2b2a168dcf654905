"""Raw files of cameras: the sensor's own counts, linear, through LibRaw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.capture.captured_stderr import captured_stderr
from dotloupe.capture.damaged_file import refused_where_it_fails
from dotloupe.capture.file_cautions import BilinearColours
from dotloupe.capture.mosaic import (
    Mosaic,
    demosaic,
    levels_of,
    looks_like_mosaic,
    mosaic_paper,
    pedestal_curve,
)
from dotloupe.capture.paper_level import paper_level
from dotloupe.capture.size_limit import check_size
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray
    from rawpy import RawPy

    from dotloupe.arrays import FloatArray
    from dotloupe.cautions import Caution

RAW_SUFFIXES = (
    *(".3fr", ".arw", ".cr2", ".cr3", ".crw", ".dng", ".erf", ".fff", ".iiq", ".mef", ".mos"),
    *(".mrw", ".nef", ".nrw", ".orf", ".pef", ".raf", ".raw", ".rw2", ".rwl", ".srw"),
)
"""Endings that cameras give their raw files."""
FLIPS = {0: 1, 3: 3, 5: 8, 6: 6}
"""LibRaw's turn of the picture as an EXIF orientation."""
PREVIEW_PX = 1000
MOSAIC_WORDS = (
    "holds the mosaic of a colour sensor and does not say how its colours lie; "
    "convert it to DNG, or develop it and export a 16-bit TIFF"
)


def decode_raw_file(
    path: Path,
) -> tuple[NDArray[np.uint16], FloatArray, int, tuple[Caution, ...]]:
    """Read a camera raw file.

    White balance and colour stay the camera's own: a patch's channels are only compared with
    the same channel of its paper.

    Returns
    -------
    pixels : ndarray of shape (rows, columns, 3), uint16
        As the sensor lies; `demosaic` says how the mosaic is filled in.
    curve : ndarray of shape (65536,), float32
        Linear light of each level.
    orientation : int
        EXIF orientation that turns the pixels upright.
    warnings : tuple of Caution

    Raises
    ------
    InputError
        Not a camera file, one of an unknown camera, or cut short.
    """
    import rawpy

    refusal = InputError(
        f"{path}: not a camera file that can be read, or cut short; "
        "copy it again or export a 16-bit TIFF"
    )
    with refused_where_it_fails(refusal), captured_stderr(), rawpy.imread(str(path)) as raw:
        check_size(path, raw.sizes.width, raw.sizes.height)
        orientation = FLIPS.get(raw.sizes.flip, 1)
        _check_counts(path, raw)
        pixels = _pixels(raw)
        if pixels is None:
            return _by_library(path, raw), _full_curve(), orientation, (BilinearColours(),)
        return pixels, pedestal_curve(), orientation, ()


def _check_counts(path: Path, raw: RawPy) -> None:
    counts = raw.raw_image_visible
    if counts.min() == counts.max():
        raise InputError(
            f"{path}: holds no picture, or one value alone; copy it from the camera again"
        )
    if raw.num_colors == 1 and counts.ndim == 2 and looks_like_mosaic(counts):
        raise InputError(f"{path}: {MOSAIC_WORDS}")


def _pixels(raw: RawPy) -> NDArray[np.uint16] | None:
    """Three channels of a sensor with a two by two cell, of three layers or without colours."""
    counts = raw.raw_image_visible
    black, white = raw.black_level_per_channel, float(raw.white_level)
    if not 0 <= max(black) < white:
        raise ValueError("black lies over white")
    if raw.num_colors == 1:
        return np.broadcast_to(levels_of(counts, black[0], white)[..., None], (*counts.shape, 3))
    if set(raw.color_desc[:3]) != set(b"RGB") or raw.num_colors != 3:
        return None
    if counts.ndim == 3:
        layers = (raw.color_desc.index(letter) for letter in b"RGB")
        return np.stack([levels_of(counts[..., i], black[i], white) for i in layers], axis=-1)
    if raw.raw_pattern is None or raw.raw_pattern.shape != (2, 2):
        return None
    place = np.asarray(raw.raw_colors_visible[:2, :2])
    bands = np.array([b"RGB".index(raw.color_desc[i]) for i in place.ravel()]).reshape(2, 2)
    mosaic = Mosaic(counts, bands, np.asarray(black, dtype=float)[place], white)
    step = max(1, min(counts.shape) // (2 * PREVIEW_PX))
    return demosaic(mosaic, paper_level(mosaic_paper(mosaic, step)))


def _by_library(path: Path, raw: RawPy) -> NDArray[np.uint16]:
    """Linear, unscaled, in the camera's own colour, interpolated linearly by the raw library."""
    from rawpy import ColorSpace, DemosaicAlgorithm

    developed: NDArray[np.uint16] = np.asarray(
        raw.postprocess(
            demosaic_algorithm=DemosaicAlgorithm.LINEAR,
            gamma=(1, 1),
            no_auto_bright=True,
            adjust_maximum_thr=0.0,
            output_bps=16,
            output_color=ColorSpace.raw,
            user_wb=[1.0, 1.0, 1.0, 1.0],
            user_flip=0,
        )
    )
    if developed.ndim != 3 or developed.shape[2] != 3:
        raise InputError(f"{path}: its sensor has not three colours; export a 16-bit TIFF")
    return developed


def _full_curve() -> FloatArray:
    return np.linspace(0, 1, 65536, dtype=np.float32)
